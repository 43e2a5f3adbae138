// The page of entries that wait: each with what was typed; a refused one is put right and sent again, or set aside, by
// the person who made it. Of others' entries it says only that they wait: what one person typed no other may change.
import "./store.js";

const outbox = self.isohumeOutbox;
const list = document.querySelector("[data-outbox]");
const ME = list.dataset.outbox;
const OWN = /^(outbox_|mark$)/;
const ANOTHERS = "Another person made this entry: its values are shown, put right or set aside when that person is signed in here.";
const WORDS = { waits: "waits for the network", refused: "refused", kept: "kept by the server" };

const part = (holder, name) => holder.querySelector(`[data-${name}]`);
const label = (name) => name.replaceAll("_", " ").replace("a w", "a_w");

const news = (entry) => JSON.stringify([entry.state, entry.reasons]);

function fieldOf(entry, name) {
  const holder = document.getElementById("outbox-field").content.cloneNode(true);
  const [words, field] = [holder.querySelector("label"), holder.querySelector("input")];
  field.id = `entry-${entry.id}-${name}`;
  field.name = name;
  field.value = entry.fields[name];
  field.readOnly = entry.state !== "refused";
  words.htmlFor = field.id;
  words.textContent = label(name);
  return holder;
}

function shown(entry) {
  const holder = document.getElementById("outbox-entry").content.cloneNode(true);
  const card = holder.querySelector("section");
  card.dataset.id = entry.id;
  card.dataset.news = news(entry);
  part(card, "words").textContent = entry.words;
  part(card, "state").textContent = `${WORDS[entry.state]}; entered ${new Date(entry.typedAt).toLocaleString("sv").slice(0, 16)}`;
  const mine = entry.person === ME;
  for (const reason of mine ? entry.reasons ?? [] : [ANOTHERS]) {
    const item = document.createElement("li");
    item.textContent = reason;
    part(card, "reasons").append(item);
  }
  for (const name of Object.keys(mine ? entry.fields : {})) if (!OWN.test(name) && entry.fields[name]) part(card, "fields").append(fieldOf(entry, name));
  part(card, "refused-acts").hidden = !mine || entry.state !== "refused";
  const link = part(card, "page");
  link.hidden = !entry.page;
  if (entry.page) link.href = entry.page;
  return card;
}

// A card that says the same still stays as it is: somebody may be typing in it.
function cardOf(entry) {
  const there = list.querySelector(`section[data-id="${entry.id}"]`);
  return there?.dataset.news === news(entry) ? there : shown(entry);
}

async function show() {
  const entries = await outbox.all();
  entries.sort((one, other) => (one.state === "kept") - (other.state === "kept") || one.id - other.id);
  const cards = entries.map(cardOf);
  for (const card of [...list.children]) if (!cards.includes(card)) card.remove();
  cards.forEach((card, at) => {
    if (list.children[at] !== card) list.insertBefore(card, list.children[at] ?? null);
  });
  document.querySelector("[data-outbox-empty]").hidden = entries.length > 0;
}

async function entryOf(card) {
  return (await outbox.all()).find((entry) => entry.id === Number(card.dataset.id));
}

// What was typed first stays with the entry, and goes into the record beside what it was put right to.
function putRight(entry, fields) {
  const first = { ...entry.first };
  for (const { name, value } of fields) {
    if (value !== entry.fields[name]) first[name] ??= entry.fields[name];
    entry.fields[name] = value;
  }
  entry.first = first;
  entry.fields.outbox_first = Object.entries(first).map(([name, value]) => `${name}: ${value}`).join("; ");
}

async function sendAgain(card) {
  const entry = await entryOf(card);
  putRight(entry, card.querySelectorAll("[data-fields] input"));
  await outbox.put({ ...entry, state: "waits", reasons: [] });
  await show();
  navigator.serviceWorker.controller?.postMessage("send");
}

async function setAside(card, reason) {
  const entry = await entryOf(card);
  const token = document.querySelector("[data-outbox-token] [name=csrfmiddlewaretoken]").value;
  const fields = Object.fromEntries(Object.entries(entry.fields).filter(([name]) => !OWN.test(name)));
  const body = new URLSearchParams({
    words: entry.words, typed_at: entry.typedAt, fields: JSON.stringify(fields), refused: entry.reasons.join(" "), reason,
  });
  const headers = { "X-CSRFToken": token, Accept: "application/json" };
  const place = part(card, "trouble");
  try {
    const answer = await (await fetch("/outbox/", { method: "POST", credentials: "same-origin", body, headers })).json();
    if (answer.done) {
      await outbox.remove(entry.id);
      await show();
      return;
    }
    place.textContent = answer.reasons.join(" ");
  } catch (away) {
    place.textContent = "Not set aside: the server did not answer. The entry stays here.";
  }
  place.hidden = false;
}

list.addEventListener("submit", (event) => {
  event.preventDefault();
  const card = event.target.closest("section");
  if (event.submitter?.value === "again") sendAgain(card);
  else setAside(card, event.target.elements.reason.value);
});
document.querySelector("[data-outbox-send]").addEventListener("click", () => navigator.serviceWorker?.controller?.postMessage("send"));
navigator.serviceWorker?.addEventListener("message", show);
show();
