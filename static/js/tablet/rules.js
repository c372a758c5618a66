// Rules that must be there without signal. The server holds every entry to the same
// rules again; a test compares the two.

// permitted is what may be done about a gap in a collar: a fillet as long as the gap
// and an overrun past each end, or the proof bend away from the gap. A collar that
// is missing all round leaves nothing to repair. Lengths are in mm.
export function permitted(repair, bend, clock, gap) {
  const round = Math.PI * repair.diameter_mm;
  if (!(clock >= 1 && clock <= 12) || !(gap > 0) || gap > round * (1 + 1e-9)) return null;
  if (gap >= round * (1 - 1e-9)) return { replace: true };
  return { size: repair.size_mm, length: gap + 2 * repair.over_mm, deg: bend.deg, toward: ((clock + 5) % 12) + 1 };
}

// mm reads a length as people type it: 0.375, 3/8, 1-1/4, 9.5 mm, 3/8 in. NaN for
// what is none.
export function mm(text, units) {
  const m = /^\s*(?:(\d+)[\s-]+)?(\d+(?:\.\d*)?|\.\d+)(?:\/(\d+))?\s*(in|mm|")?\s*$/.exec(text ?? "");
  if (!m || (m[1] && !m[3])) return NaN;
  const value = Number(m[1] ?? 0) + Number(m[2]) / Number(m[3] ?? 1);
  const inches = m[4] ? m[4] !== "mm" : units === "us";
  return inches ? value * 25.4 : value;
}

// celsius reads a temperature as people type it: 72, 22 C, 72 °F. NaN for what is none.
export function celsius(text, units) {
  const m = /^\s*(-?(?:\d+(?:\.\d*)?|\.\d+))\s*(?:°?\s*([CF]))?\s*$/i.exec(text ?? "");
  if (!m) return NaN;
  const fahrenheit = m[2] ? m[2].toUpperCase() === "F" : units === "us";
  return fahrenheit ? (Number(m[1]) - 32) / 1.8 : Number(m[1]);
}

// degrees prints a temperature as the program does.
export const degrees = (value, units) => (units === "us" ? `${(value * 1.8 + 32).toFixed(0)}\u00a0°F` : `${value.toFixed(0)}\u00a0°C`);

// batchFindings are what of a batch lies outside the limits, by the same rules as on
// record. What was not typed gives no finding. Times are milliseconds.
export function batchFindings(b, lim, units) {
  const out = [];
  const add = (grade, key, words) => out.push({ grade, key, words });
  const flow = [mm(b.flow_1, units), mm(b.flow_2, units)].filter((v) => v > 0);
  if (flow.length) {
    const mean = (flow[0] + flow.at(-1)) / 2;
    if (mean < lim.flow_min) add("stop", "flow", `Flow ${length(mean, units)}, at least ${length(lim.flow_min, units)}`);
    if (mean > lim.flow_max) add("stop", "flow", `Flow ${length(mean, units)}, at most ${length(lim.flow_max, units)}`);
  }
  const mix = celsius(b.mix_temp, units);
  if (mix > lim.mix_hot) add("stop", "mix", `Mix ${degrees(mix, units)}, at most ${degrees(lim.mix_hot, units)}`);
  else if (mix > lim.mix_warm) add("warn", "mix", `Mix ${degrees(mix, units)}, care above ${degrees(lim.mix_warm, units)}`);
  for (const [what, text] of [["Air", b.air_temp], ["Steel", b.steel_temp]]) {
    const t = celsius(text, units);
    if (t < lim.ambient_min) add("warn", what.toLowerCase(), `${what} ${degrees(t, units)}, at least ${degrees(lim.ambient_min, units)}`);
    if (t > lim.ambient_max) add("warn", what.toLowerCase(), `${what} ${degrees(t, units)}, at most ${degrees(lim.ambient_max, units)}`);
  }
  const since = minutes(b.mixed, b.placed);
  if (since > lim.place_stop) add("stop", "time", `${Math.round(since)} min from the end of mixing to placed, at most ${lim.place_stop}`);
  else if (since > lim.place_slow) add("warn", "time", `${Math.round(since)} min from the end of mixing to placed, care above ${lim.place_slow}`);
  for (const [what, kg, goal, most] of [["Fiber", b.fiber_kg, b.fiber_target_kg, lim.fiber_off], ["Water", b.water_kg, b.water_target_kg, lim.water_off]]) {
    const off = Math.abs(Number(kg) / Number(goal) - 1);
    if (kg && Number(goal) > 0 && off > most) add("warn", what.toLowerCase(), `${what} ${(100 * off).toFixed(1)} % off its target, at most ${(100 * most).toFixed(1)} %`);
  }
  return out;
}

// minutes between two moments as boxes hold them; NaN where one is missing.
export const minutes = (from, to) => (from && to ? (Date.parse(to) - Date.parse(from)) / 60000 : NaN);

// coldJoints are the batches that came later behind the one before than a form allows.
export function coldJoints(batches, lim) {
  const placed = batches.map((b, i) => ({ ...b, n: i + 1 })).filter((b) => !b.refused && b.placed);
  return placed.slice(1).map((b, i) => ({ n: b.n, min: minutes(placed[i].placed, b.place_start || b.placed) })).filter((x) => x.min > lim.interval);
}

// length prints mm as the program does.
export const length = (value, units) => (units === "us" ? `${(value / 25.4).toFixed(3)}\u00a0in` : `${value.toFixed(1)}\u00a0mm`);

// step is what a reading moves by: 0.01 in or 0.1 mm.
export const step = (units) => (units === "us" ? 0.01 : 0.1);
export const decimals = (units) => (units === "us" ? 2 : 1);

// typed turns digits that fill in from the right, as on a gauge, into a figure.
export const typed = (digits, units) => (Number(digits) * step(units)).toFixed(decimals(units));

// age says how old something is.
export function age(iso, now = Date.now()) {
  const min = Math.max(0, Math.round((now - Date.parse(iso)) / 60000));
  if (min < 1) return "just now";
  if (min < 60) return `${min} min ago`;
  if (min < 48 * 60) return `${Math.floor(min / 60)} h ${min % 60} min ago`;
  return `${Math.floor(min / 1440)} days ago`;
}

export const clockText = (iso) => new Date(iso).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });

// kindOf reads what a file is from its first bytes.
export function kindOf(bytes) {
  const is = (at, ...want) => want.every((w, i) => bytes[at + i] === w);
  if (is(0, 0xff, 0xd8, 0xff)) return "image/jpeg";
  if (is(0, 0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return "image/png";
  if (is(0, 0x52, 0x49, 0x46, 0x46) && is(8, 0x57, 0x45, 0x42, 0x50)) return "image/webp";
  return "";
}

export const outcomes = [
  ["full", "F", "Collar all round", "good"], ["gap", "G", "Gap, still open", "gap"], ["repaired_fillet", "W", "Gap closed with a fillet", "good"],
  ["bent_pass", "B", "Bent, sound", "good"], ["bent_fail", "C", "Bent, cracked", "bad"], ["rejected", "R", "Rejected", "bad"],
  ["removed", "X", "Removed", "bad"], ["replaced", "N", "Replaced, collar all round", "good"],
].map(([value, letter, words, kind]) => ({ value, letter, words, kind }));
export const outcomeOf = (value) => outcomes.find((o) => o.value === value) ?? { value: "", letter: "?", words: "not inspected", kind: "unseen" };

// count is a number with its word.
export const count = (n, one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;
