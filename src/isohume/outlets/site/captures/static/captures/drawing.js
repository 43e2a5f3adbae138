// The pieces that both drawings of a run are made of. Everything is an element with a class; how it looks is in live.css.
const SPACE = "http://www.w3.org/2000/svg";

export function piece(name, given = {}, words = "") {
  const made = document.createElementNS(SPACE, name);
  for (const [key, value] of Object.entries(given)) made.setAttribute(key, value);
  if (words) made.textContent = words;
  return made;
}

export function picture(width, height, words) {
  const svg = piece("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words, class: "live-drawing" });
  return svg;
}

// Round steps for an axis: 1, 2 or 5 times a power of ten.
export function stepFor(span, most) {
  const raw = span / most;
  const power = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map((times) => times * power).find((step) => step >= raw - 1e-12);
}

export function ticks(low, high, most) {
  const step = stepFor(high - low, most);
  const found = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + step * 1e-9; n += 1) found.push(n * step);
  return { step, found };
}

export function decimalsOf(step) {
  return Math.min(4, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)));
}

// The lowest and highest of the axis: whole steps around what is shown, so that it jumps seldom.
export function around(values, least) {
  let low = Math.min(...values);
  let high = Math.max(...values);
  const missing = least - (high - low);
  if (missing > 0) {
    low -= missing / 2;
    high += missing / 2;
  }
  const step = stepFor(high - low, 4);
  return [Math.floor(low / step - 1e-9) * step, Math.ceil(high / step + 1e-9) * step];
}
