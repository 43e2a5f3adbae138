// The trace of a run as it grows: readings as a line, the forecast as a band with its own edges, from now on.
import { around, decimalsOf, picture, piece, ticks } from "./drawing.js";
import { inTime } from "./words.js";

const WIDTH = 560;
const HEIGHT = 244;
const [LEFT, RIGHT, TOP, BOTTOM] = [66, 12, 14, 44];
const MOST_SHOWN = 1200;
const ENDS_S = [120, 300, 600, 900, 1200, 1800, 2700, 3600, 5400, 7200, 10800, 14400, 21600, 28800, 43200, 86400];
const TABLE_ROWS = 20;

function endOf(run, last) {
  const ahead = run.ended ? last : last + Math.min(Math.max(run.seconds_left ?? 60, 60), Math.max(last, 600));
  return ENDS_S.find((end) => end >= ahead) ?? ahead;
}

const minutes = (seconds) => (seconds % 60 === 0 ? String(seconds / 60) : (seconds / 60).toFixed(1));

function timeTicks(end) {
  const steps = [30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800];
  const step = steps.find((one) => end / one <= 5) ?? end;
  return Array.from({ length: Math.floor(end / step) + 1 }, (_, n) => n * step);
}

function axes(svg, x, y, end, low, high) {
  const { step, found } = ticks(low, high, 4);
  for (const value of found) {
    svg.append(piece("line", { x1: LEFT, x2: WIDTH - RIGHT, y1: y(value), y2: y(value), class: "grid" }));
    svg.append(piece("text", { x: LEFT - 8, y: y(value) + 5, "text-anchor": "end" }, value.toFixed(Math.max(2, decimalsOf(step)))));
  }
  for (const time of timeTicks(end)) {
    svg.append(piece("line", { x1: x(time), x2: x(time), y1: HEIGHT - BOTTOM, y2: HEIGHT - BOTTOM + 6, class: "axis" }));
    const anchor = time === 0 ? "start" : x(time) > WIDTH - 40 ? "end" : "middle";
    svg.append(piece("text", { x: x(time), y: HEIGHT - BOTTOM + 23, "text-anchor": anchor }, `${minutes(time)}${time === 0 ? " min" : ""}`));
  }
  svg.append(piece("path", { d: `M${LEFT} ${TOP}V${HEIGHT - BOTTOM}H${WIDTH - RIGHT}`, class: "axis" }));
}

function band(svg, run, x, y, last, end) {
  const [value, low, high] = run.forecast;
  const from = Math.min(x(last), x(end) - 26);
  svg.append(piece("rect", { x: from, y: y(high), width: x(end) - from, height: Math.max(y(low) - y(high), 2), class: "band" }));
  svg.append(piece("path", { d: `M${from} ${y(high)}H${x(end)}M${from} ${y(low)}H${x(end)}`, class: "band-edge" }));
  svg.append(piece("path", { d: `M${from} ${y(value)}H${x(end)}`, class: "band-middle" }));
}

function limits(svg, run, y, low, high) {
  for (const [value, words] of run.limits ?? []) {
    if (value < low || value > high) continue;
    svg.append(piece("path", { d: `M${LEFT} ${y(value)}H${WIDTH - RIGHT}`, class: "limit" }));
    svg.append(piece("text", { x: WIDTH - RIGHT - 4, y: y(value) - 6, "text-anchor": "end", class: "over" }, `limit ${words}`));
  }
}

export function drawTrace(place, run, points) {
  const last = points.at(-1)[0];
  const values = points.map((point) => point[1]);
  const [low, high] = around([...values, ...(run.forecast ?? [])], 0.004);
  const end = endOf(run, last);
  const x = (t) => LEFT + ((WIDTH - LEFT - RIGHT) * t) / end;
  const y = (v) => TOP + ((HEIGHT - TOP - BOTTOM) * (high - v)) / (high - low);
  const svg = picture(WIDTH, HEIGHT, describe(run, points));
  axes(svg, x, y, end, low, high);
  if (run.forecast) band(svg, run, x, y, last, end);
  limits(svg, run, y, low, high);
  const every = Math.ceil(points.length / MOST_SHOWN);
  const shown = points.filter((_, n) => n % every === 0 || n === points.length - 1);
  svg.append(piece("path", { d: `M${shown.map(([t, v]) => `${x(t).toFixed(1)} ${y(v).toFixed(1)}`).join("L")}`, class: "trace" }));
  svg.append(piece("circle", { cx: x(last), cy: y(values.at(-1)), r: 5, class: "now" }));
  const met = run.met_at_s;
  if (met !== null && met !== undefined) {
    svg.append(piece("path", { d: `M${x(met)} ${TOP}V${HEIGHT - BOTTOM}`, class: "met" }));
    const right = x(met) > WIDTH * 0.55;
    svg.append(piece("text", { x: x(met) + (right ? -7 : 7), y: HEIGHT - BOTTOM - 8, "text-anchor": right ? "end" : "start", class: "over" }, `criterion met, ${inTime(met)}`));
  }
  place.replaceChildren(svg);
}

function describe(run, points) {
  const [first, last] = [points[0], points.at(-1)];
  const ends = run.forecast ? `; forecast ${run.forecast[0].toFixed(4)}, between ${run.forecast[1].toFixed(4)} and ${run.forecast[2].toFixed(4)}` : "";
  return `Readings from ${first[1].toFixed(4)} at ${inTime(first[0])} to ${last[1].toFixed(4)} at ${inTime(last[0])}${ends}.`;
}

// The same as rows: a reading now and then, the last one, what was said of them, and the forecast.
export function traceRows(run, points) {
  const every = Math.ceil(points.length / TABLE_ROWS);
  const rows = points
    .filter((_, n) => n % every === 0 || n === points.length - 1)
    .map(([t, v]) => [inTime(t), v.toFixed(4), t === points.at(-1)[0] ? "the last reading" : ""]);
  if (run.met_at_s !== null && run.met_at_s !== undefined) rows.push([inTime(run.met_at_s), "", "the criterion was met"]);
  if (run.forecast) rows.push(["forecast", run.forecast[0].toFixed(4), `between ${run.forecast[1].toFixed(4)} and ${run.forecast[2].toFixed(4)}, 95 %`]);
  for (const [, words] of run.limits ?? []) rows.push(["limit", words, "of the lot's specification"]);
  return rows;
}
