// Ticks of the saw list are kept in this browser; another plan for the same piece begins without any.
"use strict";

const cut = document.getElementById("cut");
if (cut) {
  const boxes = [...cut.querySelectorAll("input[data-tick]")];
  const key = `cut ${cut.dataset.place}`;
  const told = document.getElementById("ticked");
  const untick = document.getElementById("untick");

  // Without room to keep them, or where the browser keeps nothing, ticks last as long as the page.
  const kept = () => {
    try {
      const found = JSON.parse(localStorage.getItem(key));
      return found && found.mark === cut.dataset.mark && Array.isArray(found.done) ? new Set(found.done) : new Set();
    } catch { return new Set(); }
  };
  const keep = () => {
    const done = boxes.filter((box) => box.checked).map((box) => box.dataset.tick);
    try { localStorage.setItem(key, JSON.stringify({ mark: cut.dataset.mark, done })); } catch { /* said above */ }
  };
  const tell = () => {
    const done = boxes.filter((box) => box.checked).length;
    told.hidden = untick.hidden = done === 0;
    told.textContent = done === boxes.length ? "All done." : `${done} of ${boxes.length} done.`;
  };
  const show = () => {
    const done = kept();
    for (const box of boxes) box.checked = done.has(box.dataset.tick);
    tell();
  };

  cut.addEventListener("change", (event) => {
    if (!event.target.matches("input[data-tick]")) return;
    keep();
    tell();
  });
  untick.addEventListener("click", () => {
    for (const box of boxes) box.checked = false;
    keep();
    tell();
  });
  // A second window of the same list shows the same ticks.
  window.addEventListener("storage", (event) => { if (event.key === key) show(); });
  show();
}
