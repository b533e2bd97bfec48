{% load static %}// Keeps the bench page and what it is made of, so that it opens without a connection. It never answers a post.
"use strict";

const KEPT = "bench";
const PAGE = "{% url 'bench' %}";
const STATIC = "{% get_static_prefix %}";
const FILES = [{% for file in files %}"{% static file %}", {% endfor %}];
// A connection that does not answer is none.
const PATIENCE = 4000;

/* One name for one file, however its address is written. */
const nameOf = (address) => decodeURIComponent(new URL(address, self.location.href).pathname);
/* The page of someone who is not logged in is the log-in's, which must not stand in the bench's place. */
const isGood = (answer) => answer.ok && !answer.redirected && answer.type === "basic";

async function keep(name, answer) {
  if (isGood(answer)) await (await caches.open(KEPT)).put(name, answer.clone());
  return answer;
}

async function fresh(request) {
  const name = nameOf(request.url);
  const asked = fetch(request).then((answer) => keep(name, answer));
  const late = new Promise((resolve) => { setTimeout(resolve, PATIENCE); });
  const first = await Promise.race([asked.catch(() => undefined), late]);
  // While the server fails, what was kept is better than its error page.
  if (first && first.status < 500) return first;
  const kept = await caches.match(name, { cacheName: KEPT });
  return kept || first || asked;
}

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    await Promise.allSettled([PAGE, ...FILES].map(async (address) => keep(nameOf(address), await fetch(address, { cache: "no-cache" }))));
    await self.skipWaiting();
  })());
});
self.addEventListener("activate", (event) => { event.waitUntil(self.clients.claim()); });

self.addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (pathname === PAGE || pathname.startsWith(STATIC)) event.respondWith(fresh(request));
});
