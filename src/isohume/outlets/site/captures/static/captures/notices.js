// One notice a run when it has settled, one when it has gone wrong; never twice, also after a reconnect or a reload.
import { say } from "../look/fields.js";

const STORED = "isohume-told";
const MOST_KEPT = 300;
const TONES = { settled: [660, 880], wrong: [440, 330] };

function known() {
  try {
    return JSON.parse(localStorage.getItem(STORED) ?? "[]");
  } catch (refused) {
    return [];
  }
}

function keep(told) {
  try {
    localStorage.setItem(STORED, JSON.stringify(told.slice(-MOST_KEPT)));
  } catch (refused) {
    // without storage a reload may tell a run once more
  }
}

export class Notices {
  constructor(chosen) {
    this.told = known();
    this.first = true;
    this.audio = null;
    this.wants = { sound: chosen.sound === "yes", browser: chosen.browser === "yes" };
    this.form = document.querySelector("[data-notices]");
    this.form.addEventListener("change", (event) => this.chosen(event.target));
    this.form.querySelector("[data-notices-try]").addEventListener("click", async () => {
      this.wake();
      if (this.wants.browser) await this.ask();
      this.give("settled", "A try", "This is how a run is told.");
    });
    if (this.wants.browser && window.Notification?.permission !== "granted") this.say("On this browser notifications are not allowed yet: press Try it.");
    // a browser lets a page sound only after its person did something on it
    for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, () => this.wants.sound && this.wake(), { once: true });
  }

  async chosen(field) {
    this.wants[field.name] = field.checked;
    if (field.name === "sound" && field.checked) this.wake();
    if (field.name !== "browser" || !field.checked) return;
    if (!(await this.ask())) field.checked = this.wants.browser = false;
  }

  // Asked only when its person clicked for it.
  async ask() {
    const answer = "Notification" in window ? await Notification.requestPermission() : "denied";
    if (answer !== "granted") this.say("This browser does not let the site notify: allow it in the browser's own settings first.");
    return answer === "granted";
  }

  say(words) {
    this.form.querySelector("[data-notices-say]").textContent = words;
  }

  wake() {
    if (!window.AudioContext) return;
    this.audio ??= new AudioContext();
    if (this.audio.state === "suspended") this.audio.resume();
  }

  // The first event shows how things stand when the page is opened: that is seen, and not told.
  tell(runs) {
    const before = this.told.length;
    for (const run of runs) {
      for (const kind of ["settled", "wrong"]) {
        const key = `${run.pk}:${kind}`;
        if (!run[kind] || (kind === "settled" && run.wrong) || this.told.includes(key)) continue;
        this.told.push(key);
        if (!this.first) this.give(kind, `${run.instrument}: ${kind === "settled" ? "settled" : run.diagnosis || "look at it"}`, run.of || "Nobody has said what it reads", key);
      }
    }
    this.first = false;
    if (this.told.length !== before) keep(this.told);
  }

  give(kind, title, words, key = "try") {
    say(`${title}. ${words}`);
    document.dispatchEvent(new CustomEvent("isohume:notice", { detail: { kind, title, key } }));
    if (this.wants.sound) this.sound(kind);
    if (this.wants.browser && "Notification" in window && Notification.permission === "granted") {
      const shown = new Notification(title, { body: words, tag: `isohume-${key}` });
      shown.addEventListener("click", () => window.focus());
    }
  }

  sound(kind) {
    if (!this.audio || this.audio.state !== "running") return;
    TONES[kind].forEach((frequency, n) => {
      const at = this.audio.currentTime + n * 0.18;
      const tone = this.audio.createOscillator();
      const loud = this.audio.createGain();
      tone.frequency.value = frequency;
      loud.gain.setValueAtTime(0.0001, at);
      loud.gain.exponentialRampToValueAtTime(0.2, at + 0.02);
      loud.gain.exponentialRampToValueAtTime(0.0001, at + 0.17);
      tone.connect(loud).connect(this.audio.destination);
      tone.start(at);
      tone.stop(at + 0.18);
    });
  }
}
