// The stream of runs, and what the page says of it: a reading that is old must not look like one of now.
const SILENT_MS = 25000;
const AGAIN_MS = 4000;
const line = () => document.querySelector("[data-line]");

function say(words, stale) {
  const place = line();
  if (place.textContent !== words) place.textContent = words;
  document.querySelector("[data-runs]").toggleAttribute("data-stale", stale);
}

const clock = () => new Date().toLocaleTimeString("en-GB");

export function follow(address, take) {
  let heardAt = Date.now();
  let source = null;
  const heard = () => {
    heardAt = Date.now();
    say("The readings come as they are taken.", false);
  };
  const begin = () => {
    source = new EventSource(address, { withCredentials: true });
    source.addEventListener("runs", (event) => {
      heard();
      take(JSON.parse(event.data));
    });
    source.addEventListener("still", heard);
    source.addEventListener("error", () => {
      say(`No word from the instruments since ${clock()}: what stands here may be old. Trying again.`, true);
      // a stream that was refused stays closed; signed in again, it opens
      if (source.readyState === EventSource.CLOSED) setTimeout(begin, AGAIN_MS);
    });
  };
  begin();
  setInterval(() => {
    if (Date.now() - heardAt < SILENT_MS || source.readyState !== EventSource.OPEN) return;
    say("No word from the instruments for a while: what stands here may be old. Trying again.", true);
    heardAt = Date.now();
    source.close();
    begin();
  }, 5000);
  window.addEventListener("pagehide", () => source.close());
}
