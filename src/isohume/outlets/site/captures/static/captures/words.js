// What a run is, in words. Words first: the mark beside them says the same by its shape.
export function inTime(seconds) {
  const whole = Math.max(0, Math.round(seconds));
  if (whole < 120) return `${whole} s`;
  const minutes = Math.floor(whole / 60);
  if (minutes < 60) return whole % 60 ? `${minutes} min ${whole % 60} s` : `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
}

export function inMinutes(seconds) {
  if (seconds < 60) return "less than a minute";
  return `about ${Math.ceil(seconds / 60)} min`;
}

export function stateOf(run) {
  if (run.settled && !run.wrong) return [`settled: ${run.value} at ${inTime(run.settled_at_s)}`, "pass"];
  if (run.wrong) return [`not settled: ${run.diagnosis || "look at it"}`, "fail"];
  if (run.ended) return [`not settled, ended: ${run.end_reason || "no reason given"}`, "hold"];
  if (run.diagnosis === "slow") return ["not settled: slow", "wait"];
  return ["not settled", "run"];
}

export function leftOf(run) {
  if (run.ended || run.settled) return run.ended && run.settled ? "It can be accepted." : "";
  if (run.forecast === null) return run.n < 6 ? "No forecast before the sixth reading." : "The forecast comes in a moment.";
  if (run.seconds_left === null) return "At this pace it does not settle within four hours.";
  return run.seconds_left === 0 ? "It may meet the criterion any moment." : `Settles in ${inMinutes(run.seconds_left)}.`;
}

export function forecastOf(run) {
  if (!run.forecast) return run.a_w === null ? "" : `Reads ${run.a_w} now.`;
  if (run.diagnosis === "volatile") return `No end to forecast: it climbs. ${run.ended ? `Read ${run.a_w} last` : `Reads ${run.a_w} now`}.`;
  const [value, low, high] = run.forecast.map((one) => one.toFixed(4));
  const word = run.ended || run.settled ? "Forecast" : "Will end at";
  return `${word} ${value}, between ${low} and ${high} (95 %); ${run.ended ? `read ${run.a_w} last` : `reads ${run.a_w} now`}.`;
}

export function temperaturesOf(run) {
  if (run.sample_temperature_c === null && run.block_temperature_c === null) return ["not taken", ""];
  const both = `${run.sample_temperature_c ?? "not taken"} °C, ${run.block_temperature_c ?? "not taken"} °C`;
  if (run.difference_k === null) return [both, ""];
  const size = Math.abs(run.difference_k);
  const side = size < 0.05 ? "no difference" : `${size.toFixed(1)} K ${run.difference_k > 0 ? "warmer" : "colder"}`;
  if (run.limit_k === null) return [`${both}: ${side}; the method states no limit`, ""];
  const over = size > Number(run.limit_k);
  return [`${both}: ${side}, ${over ? "beyond" : "within"} the limit of ${run.limit_k} K`, over ? "hold" : "pass"];
}

export function warmOf(since, least, now = Date.now()) {
  const minutes = Math.max(0, Math.floor((now - Date.parse(since)) / 60000));
  return minutes < least ? [`warming up: ${minutes} min of ${least} min`, "wait"] : [`warm for ${inTime(minutes * 60)}; it asks ${least} min`, "pass"];
}

export function whichOf(run) {
  const number = run.number ? `run ${run.number}` : "run";
  const lasted = run.elapsed_s === null ? "no reading yet" : inTime(run.elapsed_s);
  return `${number}, ${lasted}${run.ended ? ", ended" : ""}`;
}

export function answerOf(runs) {
  if (!runs.length) return ["No run goes on", "unknown"];
  const settled = runs.filter((run) => run.settled && !run.wrong).length;
  const wrong = runs.filter((run) => run.wrong).length;
  const words = `${settled} of ${runs.length} settled${wrong ? `, ${wrong} with trouble` : ""}`;
  return [words, wrong ? "hold" : settled === runs.length ? "pass" : "run"];
}
