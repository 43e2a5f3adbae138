// Says that something changed since the page was opened; it never moves or replaces anything.
const NOT_A_CHANGE = new Set(["signed_in", "signed_out", "sign_in_failed", "locked_out", "locked", "unlocked_screen"]);
const OWN_MS = 3000;

let changes = 0;
let ownAt = 0;

function show(place) {
  const since = document.createElement("span");
  since.className = "long-words";
  since.textContent = " since you opened this page";
  const link = document.createElement("a");
  link.href = location.href;
  link.textContent = "Reload";
  place.replaceChildren(changes === 1 ? "1 change" : `${changes} changes`, since, ". ", link);
}

export function startLive() {
  const address = document.body.dataset.live;
  const place = document.getElementById("live");
  if (!address || !place || !window.EventSource) return;
  const kinds = new Set((document.body.dataset.liveKinds ?? "").split(/\s+/).filter(Boolean));
  const source = new EventSource(address, { withCredentials: true });
  source.addEventListener("message", (event) => {
    const { kind } = JSON.parse(event.data);
    if (NOT_A_CHANGE.has(kind) || (kinds.size && !kinds.has(kind)) || Date.now() - ownAt < OWN_MS) return;
    changes += 1;
    show(place);
  });
  // what this page itself sent is not news to it
  document.addEventListener("htmx:beforeRequest", (event) => {
    if (event.detail?.requestConfig?.verb !== "get") ownAt = Date.now();
  });
  document.addEventListener("isohume:sent", () => {
    ownAt = Date.now();
  });
  window.addEventListener("pagehide", () => source.close());
}
