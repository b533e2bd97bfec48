// Charts from and to files: CSV read and written here, pictures read by the server. Needs chart.js.
"use strict";

/* Rows of a CSV, top first, as wood keys, bottom up. Throws words that say what is wrong. */
function rowsOfCsv(text, painter) {
  const lines = text.replace(/^\ufeff/, "").split(/\r?\n/).filter((line) => line.trim());
  if (!lines.length) throw new Error("The file is empty.");
  const keys = new Set(painter.woods.map(({ key }) => key));
  const named = new Map(painter.woods.map(({ key, name }) => [name.toLowerCase(), key]));
  const lettered = new Map([...painter.letters].map(([key, letter]) => [letter, key]));
  const rows = lines.map((line, at) => {
    let cells = line.split(/[,;\t]/).map((cell) => cell.trim().replace(/^"(.*)"$/, "$1"));
    if (cells.length === 1 && !keys.has(cells[0]) && !named.has(cells[0].toLowerCase())) cells = [...cells[0]];
    if (painter.segments % cells.length) throw new Error(`Row ${at + 1} has ${cells.length} cells, which do not divide ${painter.segments} segments.`);
    return cells.map((cell, number) => {
      const key = keys.has(cell) ? cell : lettered.get(cell) || named.get(cell.toLowerCase());
      if (!key) throw new Error(`Row ${at + 1}, cell ${number + 1}: “${cell}” is no wood of the shop and no letter of this chart.`);
      return key;
    });
  });
  if (rows.length > painter.layers) throw new Error(`The file has ${rows.length} rows, but the band ${painter.layers} layers. Give the band more layers, or the file fewer rows.`);
  return rows.reverse();
}

async function readCsv(painter, file) {
  if (!file) return;
  if (file.size > 1000000) { painter.tell("The file is larger than 1 MB, which no chart is."); return; }
  try {
    const rows = rowsOfCsv(await file.text(), painter);
    painter.takeIn(fitted(rows, painter.layers, painter.segments), "chart from a file");
    painter.tell(rows.length < painter.layers ? `${rows.length} rows read, repeated upwards to ${painter.layers} layers.` : `${rows.length} rows read.`);
  } catch (refusal) {
    painter.tell(refusal.message);
  }
}

/* The chart as CSV: wood keys, the top layer first. */
function csvOf(painter) {
  return [...painter.cells].reverse().map((row) => row.join(",")).join("\r\n") + "\r\n";
}

function savedChart(painter) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([csvOf(painter)], { type: "text/csv" }));
  link.download = `${painter.called.replace(/[^\p{L}\p{N}]+/gu, "-") || "band"}-chart.csv`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

async function readPicture(painter, file) {
  if (!file) return;
  const body = new FormData();
  body.set("picture", file);
  body.set("layers", painter.sliced ? 1 : painter.layers);
  body.set("segments", painter.segments);
  for (const [key, letter] of painter.letters) body.append("wood", `${letter}=${key}`);
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/);
  body.set("csrfmiddlewaretoken", token ? token[1] : typedIn("csrfmiddlewaretoken"));
  painter.tell("The picture is being read …");
  try {
    const answer = await fetch(board.dataset.chartImage, { method: "POST", body, redirect: "manual" });
    if (answer.status !== 200 && answer.status !== 422) throw new Error("The server did not take the picture. Try again.");
    const chart = await answer.json();
    if (chart.reason) { painter.tell(chart.reason); return; }
    painter.takeIn(fitted(chart.rows.map((row) => [...row].map((letter) => chart.legend[letter])), painter.layers, painter.segments), "chart from a picture");
    painter.tell("The picture is in the chart, in the nearest woods.");
  } catch (trouble) {
    painter.tell(navigator.onLine ? trouble.message : "There is no connection, so the picture was not sent.");
  }
}

findPainters();
