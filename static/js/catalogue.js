// Ticks of the log's table are kept as they are made, so that they are still there on its other pages.
// Without this script a button below the table keeps them.
"use strict";

const form = document.getElementById("catalogue");
const ticks = document.querySelectorAll('input[name="piece"][form="catalogue"]');
let sending = Promise.resolve();

function say(words) { form.querySelector("[data-said]").textContent = words; }

function count(number) {
  form.querySelector("[data-count]").textContent = number;
  form.querySelector("[data-noun]").textContent = number === 1 ? "piece" : "pieces";
}

// The page's whole state is sent each time, one after the other: a tick that got lost goes with the next.
async function keep(tick) {
  const sent = new FormData(form);
  sent.set("of", "ticked");
  let answer;
  try {
    answer = await fetch(form.dataset.kept, { method: "POST", body: sent, headers: { Accept: "application/json" } });
    const { count: number, refused } = await answer.json();
    count(number);
    if (refused) { tick.checked = false; say(refused); } else say("Kept.");
  } catch {
    say("The ticks could not be kept: there is no connection, or you are logged out. Press Keep these ticks.");
    for (const one of form.querySelectorAll("[data-by-hand]")) one.hidden = false;
  }
}

if (form) {
  for (const one of form.querySelectorAll("[data-by-hand]")) one.hidden = true;
  for (const tick of ticks) tick.addEventListener("change", () => { sending = sending.then(() => keep(tick)); });
}
