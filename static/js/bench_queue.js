// Taps, kept in this browser until the server has them: each is sent once, in the order they were made.
//
// A tap is { id, seq, at, fields, photo, state, tried, failures, answered, reason }. It is `waiting` until the server has
// answered; then `answered`, until a page is shown that was made after it, or `refused`, until its reason was read.
// Each stands under a key of its own, so that two windows never write over one another.

import * as clock from "./bench_clock.js";
import { dropPhoto, photoOf } from "./bench_photos.js";

const PATIENCE = 20000, PHOTO_PATIENCE = 120000;
const REFUSALS = new Set([400, 404, 409, 413, 422]);

/* A random id (RFC 9562, version 4); crypto.randomUUID is there over https alone. */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export const csrf = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] || document.querySelector("#bench [name=csrfmiddlewaretoken]")?.value || "";

/* The taps of one member at `address`; `changed` is called whenever they are others. */
export function openQueue({ who, address, state, changed }) {
  const prefix = `bench tap ${who} `;
  const memory = new Map();
  let sending = false, trouble = "";

  // ---- keeping

  function all() {
    const found = new Map(memory);
    try {
      for (let i = 0; i < localStorage.length; i += 1) {
        const key = localStorage.key(i);
        if (!key.startsWith(prefix)) continue;
        try { found.set(key, JSON.parse(localStorage.getItem(key))); } catch { /* not ours to read */ }
      }
    } catch { /* only what the page itself keeps */ }
    return [...found.values()].filter((tap) => tap?.id).sort((one, other) => one.seq - other.seq || (one.id < other.id ? -1 : 1));
  }
  const only = (kind) => all().filter((tap) => tap.state === kind);
  const keyOf = (tap) => `${prefix}${tap.id}`;

  function keep(tap) {
    try {
      localStorage.setItem(keyOf(tap), JSON.stringify(tap));
      memory.delete(keyOf(tap));
    } catch {
      memory.set(keyOf(tap), tap);
    }
  }
  function drop(tap) {
    memory.delete(keyOf(tap));
    try { localStorage.removeItem(keyOf(tap)); } catch { /* it was in memory */ }
    if (tap.photo) dropPhoto(tap.id);
  }

  /* Keep a tap; `fields` are pairs of the form's names and values. Its photo must be kept already. */
  function add(fields, { id = newId(), photo = false, words = "" } = {}) {
    const last = all().at(-1)?.seq || 0;
    const tap = { id, seq: Math.max(Date.now(), last + 1), at: new Date(clock.now()).toISOString(), fields, photo, words, state: "waiting", tried: false, failures: 0 };
    keep(tap);
    changed();
    return tap;
  }

  // ---- sending

  async function bodyOf(tap) {
    const body = new FormData();
    for (const [name, value] of tap.fields) body.append(name, value);
    body.set("uuid", tap.id);
    body.set("at", tap.at);
    body.set("who", who);
    if (!tap.photo) return body;
    const file = await photoOf(tap.id).catch(() => undefined);
    if (!file) return null;
    body.set("photo", file, file.name || "photo.jpg");
    return body;
  }

  async function post(tap, body) {
    const asked = Date.now();
    const answer = await fetch(address, {
      method: "POST", body, redirect: "manual", cache: "no-store",
      headers: { Accept: "application/json", "HX-Request": "true", "X-CSRFToken": csrf() },
      signal: AbortSignal.timeout(tap.photo ? PHOTO_PATIENCE : PATIENCE),
    });
    const told = await answer.json().catch(() => null);
    if (told?.now) clock.heard(told.now, asked, Date.now());
    return { status: answer.status, told };
  }

  const refuse = (tap, reason) => { keep({ ...tap, state: "refused", reason }); return true; };
  const stop = (why) => { trouble = why; return false; };

  /* Whether the tap is done with, one way or the other, and the next may go. */
  async function sendOne(tap) {
    const body = await bodyOf(tap);
    if (!body) return refuse(tap, "The browser no longer has this photo. Take it again.");
    keep({ ...tap, tried: true });
    let { status, told } = await post(tap, body);
    // After logging in again the old token is refused; any answer brings the new one.
    if (status === 403) {
      await fetch(state, { headers: { "HX-Request": "true" }, cache: "no-store" });
      ({ status, told } = await post(tap, body));
    }
    if (status === 200 && told) {
      if (tap.photo) dropPhoto(tap.id);
      keep({ ...tap, tried: true, photo: false, state: "answered", answered: told.now, told: told.words || "" });
      return true;
    }
    if (REFUSALS.has(status) && told?.reason) return refuse(tap, told.reason);
    if (status === 413) return refuse(tap, "The server does not take a file as large as this.");
    if (status === 0 || status === 401 || status === 403) return stop("login");
    keep({ ...tap, tried: true, failures: tap.failures + 1 });
    return stop("server");
  }

  /* Send what waits, one after the other, until there is none or something is in the way. */
  async function send() {
    if (sending) return;
    sending = true;
    trouble = "";
    try {
      for (let tap = only("waiting")[0]; tap; tap = only("waiting")[0]) {
        if (!(await sendOne(tap))) break;
        changed();
      }
    } catch {
      trouble = "connection";
    } finally {
      sending = false;
      changed();
    }
  }

  // ---- what became of them

  return {
    add, send, drop,
    waiting: () => only("waiting"),
    refused: () => only("refused"),
    /* Those that a page made at `rendered` (ms) does not show yet, in their order. */
    unseen: (rendered) => all().filter((tap) => tap.state === "waiting" || (tap.state === "answered" && Date.parse(tap.answered) > rendered)),
    /* Forget what a page made at `rendered` shows. */
    seen(rendered) {
      for (const tap of only("answered")) if (Date.parse(tap.answered) <= rendered) drop(tap);
    },
    setAside: (tap) => { refuse(tap, "The server failed at this each time it was sent."); changed(); },
    trouble: () => trouble,
    kept: () => memory.size === 0,
    isTap: (key) => key === null || key.startsWith(prefix),
  };
}
