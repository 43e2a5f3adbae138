// Starts the small helpers of a page. Each listens on the document, so that parts swapped in later work too.
import { startClocks } from "./clocks.js";
import { startEnter } from "./enter.js";
import { startGrid } from "./grid.js";
import { startIdle } from "./idle.js";
import { startKeys } from "./keys.js";
import { startLive } from "./live.js";
import { startMasks } from "./masks.js";
import { startOutbox } from "../outbox/line.js";
import { startScanner } from "./scan.js";
import { startTheme } from "./theme_choice.js";
import { startUnsaved } from "./unsaved.js";

// the scanner first: it sees a key before anybody else and takes its burst out of the fields
for (const start of [startScanner, startMasks, startEnter, startGrid, startKeys, startClocks, startUnsaved, startTheme, startIdle, startLive, startOutbox]) {
  start();
}
document.querySelector("[data-first-error]")?.focus();
document.documentElement.dataset.ready = "yes";
