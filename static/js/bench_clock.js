// The server's time, as this device can tell it: its own clock and how far that is off.
//
// Times are always asked of the clock, never counted in ticks: a screen that slept is right when it wakes.

const KEY = "bench clock";
const SLOW = 2000;
let offset = kept();
let best = Infinity;

// Without a connection the last offset is the best there is; a browser that keeps nothing starts from none.
function kept() {
  try {
    const found = Number(localStorage.getItem(KEY));
    return Number.isFinite(found) ? found : 0;
  } catch { return 0; }
}

/* The server's time now, in ms since 1970. */
export const now = () => Date.now() + offset;

/* An answer of the server told its time (ISO), asked at `asked` and here at `answered`, both by this device's clock. */
export function heard(time, asked, answered) {
  const server = Date.parse(time), round = answered - asked;
  // A slow answer may be late on either way: it only counts where nothing better is known.
  if (Number.isNaN(server) || round < 0 || (round > SLOW && round > best)) return;
  best = Math.max(round, 50);
  offset = server - (asked + answered) / 2;
  try { localStorage.setItem(KEY, String(offset)); } catch { /* it lasts as long as the page */ }
}
