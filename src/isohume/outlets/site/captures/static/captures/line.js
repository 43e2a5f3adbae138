// The forecast on the a_w line: where the reading is now, where it will end with its interval, and the limits near it.
import { around, decimalsOf, picture, piece, ticks } from "./drawing.js";

const WIDTH = 560;
const HEIGHT = 96;
const [LEFT, RIGHT, LINE] = [16, 16, 56];
const NEAR = 0.03;

export function drawLine(place, run) {
  const now = Number(run.a_w);
  const [value, low, high] = run.forecast;
  const limits = (run.limits ?? []).filter(([limit]) => Math.abs(limit - value) < NEAR);
  const nowShown = Math.abs(now - value) < 2 * NEAR;
  const [from, to] = around([low, high, ...(nowShown ? [now] : []), ...limits.map(([limit]) => limit)], 0.01);
  const x = (v) => LEFT + ((WIDTH - LEFT - RIGHT) * (v - from)) / (to - from);
  const svg = picture(WIDTH, HEIGHT, describe(run));
  const { step, found } = ticks(from, to, 5);
  for (const tick of found) {
    svg.append(piece("path", { d: `M${x(tick)} ${LINE}v7`, class: "axis" }));
    const anchor = x(tick) < 40 ? "start" : x(tick) > WIDTH - 40 ? "end" : "middle";
    svg.append(piece("text", { x: x(tick), y: LINE + 26, "text-anchor": anchor }, tick.toFixed(Math.max(2, decimalsOf(step)))));
  }
  svg.append(piece("path", { d: `M${LEFT} ${LINE}H${WIDTH - RIGHT}`, class: "axis" }));
  for (const [limit, words] of limits) {
    svg.append(piece("path", { d: `M${x(limit)} ${LINE - 30}V${LINE + 7}`, class: "limit-mark" }));
    svg.append(piece("text", { x: x(limit), y: 16, "text-anchor": x(limit) > WIDTH / 2 ? "end" : "start", class: "over" }, `limit ${words}`));
  }
  svg.append(piece("path", { d: `M${x(low)} ${LINE - 18}v12M${x(high)} ${LINE - 18}v12M${x(low)} ${LINE - 12}H${x(high)}`, class: "interval" }));
  svg.append(piece("circle", { cx: x(value), cy: LINE - 12, r: 6, class: "value" }));
  if (limits.every(([limit]) => Math.abs(x(limit) - x(value)) > 130)) word(svg, x(value), LINE - 27, "forecast");
  if (nowShown && (x(now) < x(low) - 48 || x(now) > x(high) + 48)) word(svg, x(now), LINE - 14, "now");
  if (nowShown) svg.append(piece("circle", { cx: x(now), cy: LINE, r: 6, class: "now" }));
  place.replaceChildren(svg);
}

function word(svg, at, height, words) {
  const anchor = at < 50 ? "start" : at > WIDTH - 50 ? "end" : "middle";
  svg.append(piece("text", { x: at, y: height, "text-anchor": anchor, class: "over" }, words));
}

function describe(run) {
  const [value, low, high] = run.forecast.map((one) => one.toFixed(4));
  return [`Forecast ${value}, between ${low} and ${high}`, `now ${run.a_w}`, ...(run.limits ?? []).map(([, words]) => `limit ${words}`)].join("; ");
}
