// Stands between the bench's pages and the network. While the network is away it serves the bench pages as they were
// seen last and keeps what is entered, with the moment it was entered; it never answers with a verdict. When the network
// is back it sends entries in their order, for the person who made them; what the server refuses stays, with its reasons.
importScripts("/static/outbox/store.js");

const PAGES = "isohume-pages-1";
const STATIC = "isohume-static-1";
const ANSWER_WITHIN_MS = 20000;
const PAGE_HOLDS_MS = 12 * 3600 * 1000;
const KEPT_SHOWN_MS = 24 * 3600 * 1000;
const NOT_REACHED = [502, 503, 504];
const BENCH_PAGES = [
  /^\/shift\/$/, /^\/tempering\/$/, /^\/checks\/new\/$/, /^\/cleanings\/new\/$/, /^\/lots\/new\/$/, /^\/samples\/new\/$/,
  /^\/samples\/\d+\/$/, /^\/cups\/\d+\/$/, /^\/outbox\/$/,
];
const ENTRIES = [
  /^\/shift\/\d+\/$/, /^\/tempering\/\d+\/$/, /^\/cups\/\d+\/(cover|temperature|discard)\/$/, /^\/samples\/(new|\d+)\/$/,
  /^\/lots\/new\/$/, /^\/checks\/new\/$/, /^\/cleanings\/new\/$/,
];
const FETCHED_AHEAD = ["/shift/", "/outbox/"];

const outbox = self.isohumeOutbox;
const matches = (patterns, path) => patterns.some((pattern) => pattern.test(path));

self.addEventListener("install", (event) => event.waitUntil(self.skipWaiting()));
self.addEventListener("activate", (event) => event.waitUntil(begin()));
self.addEventListener("sync", (event) => event.waitUntil(sendAll()));
self.addEventListener("message", (event) => {
  if (event.data === "send") event.waitUntil(sendAll());
  if (event.data === "forget pages") event.waitUntil(caches.delete(PAGES));
});
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method === "POST" && matches(ENTRIES, pathname)) event.respondWith(entered(request));
  else if (request.method === "GET" && pathname.startsWith("/static/")) event.respondWith(fromNetworkFirst(request, STATIC));
  else if (request.method === "GET" && request.mode === "navigate") event.respondWith(pageOf(request, pathname));
});

async function begin() {
  for (const name of await caches.keys()) if (![PAGES, STATIC].includes(name)) await caches.delete(name);
  await self.clients.claim();
  const pages = await caches.open(PAGES);
  for (const path of FETCHED_AHEAD) {
    try {
      await keepPage(pages, path, await fetch(path, { credentials: "same-origin" }));
    } catch (away) {
      return;
    }
  }
}

async function answered(request) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), ANSWER_WITHIN_MS);
  try {
    const answer = await fetch(request, { signal: stop.signal });
    if (NOT_REACHED.includes(answer.status)) throw new Error(String(answer.status));
    await noteClock(answer);
    return answer;
  } finally {
    clearTimeout(timer);
  }
}

// How far this computer's clock is from the server's, by whole seconds as the server says them.
async function noteClock(answer) {
  const said = Date.parse(answer.headers.get("Date") ?? "");
  if (Number.isNaN(said)) return;
  const ahead = Date.now() - said - 500;
  await outbox.note("clock", Math.abs(ahead) > 2000 ? ahead : 0).catch(() => {});
}

async function serverNow() {
  return Date.now() - ((await outbox.fact("clock").catch(() => 0)) ?? 0);
}

async function fromNetworkFirst(request, name) {
  const store = await caches.open(name);
  try {
    const answer = await fetch(request);
    if (answer.ok) await store.put(request, answer.clone()).catch(() => {});
    return answer;
  } catch (away) {
    return (await store.match(request)) ?? Response.error();
  }
}

async function keepPage(store, key, answer) {
  if (answer.ok && !answer.redirected && answer.type === "basic") await store.put(key, answer.clone()).catch(() => {});
}

async function pageOf(request, path) {
  const store = await caches.open(PAGES);
  try {
    const answer = await answered(request);
    if (matches(BENCH_PAGES, path)) await keepPage(store, path, answer);
    return answer;
  } catch (away) {
    const kept = matches(BENCH_PAGES, path) ? await store.match(path) : undefined;
    const at = Date.parse(kept?.headers.get("Date") ?? "");
    return kept && (await serverNow()) - at < PAGE_HOLDS_MS ? withItsTime(kept, at) : awayPage();
  }
}

async function withItsTime(kept, at) {
  const text = (await kept.text()).replace("<head>", `<head>\n<meta name="isohume-seen" content="${new Date(at).toISOString()}">`);
  return new Response(text, { headers: kept.headers });
}

function awayPage() {
  const text = `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>The network is away</title></head><body><h1>The network is away</h1>
<p>This page needs the server. Cups can still be keyed: what is entered waits on this computer.</p>
<ul><li><a href="/shift/">Shift</a></li><li><a href="/outbox/">Entries that wait</a></li></ul></body></html>`;
  return new Response(text, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}

async function entered(request) {
  const spare = request.clone();
  try {
    return await answered(request);
  } catch (away) {
    return keep(spare);
  }
}

async function keep(request) {
  const form = await request.formData();
  if (!form.has("outbox_words")) return Response.error();
  const fields = Object.fromEntries([...form].filter(([, value]) => typeof value === "string"));
  delete fields.csrfmiddlewaretoken;
  const typedAt = new Date(await serverNow()).toISOString();
  const filled = fields.outbox_time.split(" ").filter((name) => name && !fields[name]);
  for (const name of filled) fields[name] = typedAt;
  const path = new URL(request.url).pathname;
  await makeNew(path, fields);
  await outbox.put({
    path, fields: { ...fields, outbox_filled: filled.join(" "), outbox_typed_at: typedAt },
    person: fields.outbox_person, words: fields.outbox_words, typedAt, state: "waits", reasons: [],
  });
  await self.registration.sync?.register("outbox").catch(() => {});
  await tell();
  if (request.headers.get("HX-Request")) return new Response(fields.outbox_words, { status: 202, headers: { "X-Isohume-Kept": "here" } });
  return Response.redirect("/outbox/", 303);
}

// A page seen again without the network has the names it had: another entry of the same form needs a name of its own.
async function makeNew(path, fields) {
  const name = fields.mark ? "mark" : "outbox_entry";
  const before = (await outbox.all()).some((entry) => entry.path === path && entry.fields[name] === fields[name]);
  if (before) fields[name] = [...crypto.getRandomValues(new Uint8Array(8))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

let sending = Promise.resolve();

function sendAll() {
  sending = sending.then(sendInOrder, sendInOrder).catch(() => {}).then(tell);
  return sending;
}

async function sendInOrder() {
  const waiting = (await outbox.all()).filter((entry) => entry.state === "waits");
  if (!waiting.length) return;
  const who = await signedIn();
  if (!who) return;
  for (const entry of waiting) {
    const answer = entry.person === who.person ? await sendOne(entry, who) : { state: "waits", reasons: ["It waits until the person who entered it is signed in on this computer."] };
    if (answer.state === "waits" && entry.person === who.person) return outbox.put({ ...entry, reasons: answer.reasons });
    await outbox.put({ ...entry, ...answer, settledAt: answer.state === "kept" ? Date.now() : undefined });
  }
}

async function signedIn() {
  const answer = await fetch("/outbox/token/", { credentials: "same-origin", redirect: "manual" });
  return answer.ok ? answer.json() : null;
}

async function sendOne(entry, who) {
  const answer = await fetch(entry.path, {
    method: "POST", credentials: "same-origin", redirect: "manual", body: new URLSearchParams(entry.fields),
    headers: { "X-Isohume-Outbox": who.person, "X-CSRFToken": who.token },
  });
  if (!(answer.headers.get("Content-Type") ?? "").startsWith("application/json")) {
    return { state: "waits", reasons: [`The server answered ${answer.status}.`] };
  }
  return answer.json();
}

async function tell() {
  for (const entry of await outbox.all()) {
    if (entry.state === "kept" && Date.now() - entry.settledAt > KEPT_SHOWN_MS) await outbox.remove(entry.id);
  }
  for (const client of await self.clients.matchAll()) client.postMessage("outbox changed");
}
