// A pour, batch by batch: kept on the tablet as it goes, with what lies outside the
// limits said at once, and recorded as one when it is over.
import { button, choice, field, h, link, say, show, moveFrom } from "./dom.js";
import { head } from "./end.js";
import { local, moment, only } from "./forms.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";
import { batchFindings, coldJoints, count, minutes } from "./rules.js";

const key = (end) => `pour ${end.name}`;
const back = (end) => `#/end/${end.name}/pour`;
const draft = async (end) => (await store.draft(key(end))) ?? null;
const now = () => local(new Date());

async function keep(end, d) {
  try {
    await store.keepDraft(key(end), d);
    return true;
  } catch (error) {
    say(store.plainly(error), "bad");
    return false;
  }
}

// clock is a box for a moment with a button that fills it.
function clock(label, name, value) {
  const box = field(label, name, { type: "datetime-local", value: value ?? "" });
  const stamp = () => { const i = box.querySelector("input"); i.value = now(); i.dispatchEvent(new Event("input", { bubbles: true })); };
  return h("div", { class: "t-clock" }, box, button("Now", stamp, { "data-now": name, "aria-label": `${label}: now` }));
}

const mark = { stop: "Stop", warn: "Care" };
const warnings = (found) => (found.length ? h("ul", { class: "t-found bare-list" }, found.map((f) => h("li", { class: f.grade }, h("strong", {}, mark[f.grade]), ` ${f.words}.`))) : null);
const ofBatch = (b, p) => batchFindings(b, p.casting.limits, p.units);

// waiting says what runs while nobody types: a batch that is mixed and not placed, and
// the time since the last one was placed.
function waiting(d, lim) {
  const out = [];
  const t = now();
  d.batches.forEach((b, i) => {
    const m = minutes(b.mixed, t);
    if (b.refused || b.placed || !(m >= 0)) return;
    out.push({ grade: m > lim.place_stop ? "stop" : m > lim.place_slow ? "warn" : "", words: `Batch ${i + 1} was mixed ${Math.round(m)} min ago and is not placed; care above ${lim.place_slow}, stop above ${lim.place_stop}` });
  });
  const last = d.batches.filter((b) => !b.refused && b.placed).map((b) => b.placed).sort().at(-1);
  const since = minutes(last, t);
  if (!d.ended && since >= 0 && since < 24 * 60) out.push({ grade: since > lim.interval ? "warn" : "", words: `${Math.round(since)} min since the last batch was placed; a cold joint is feared above ${lim.interval}` });
  return out;
}

let ticking;

export async function start(end) {
  const p = await store.get("meta", "packet");
  const ends = (await store.all("ends")).sort((a, b) => a.name.localeCompare(b.name, undefined, { numeric: true }));
  const d = (await draft(end)) ?? { ends: [end.name], volumes: {}, started: "", ended: "", batches: [], sets: [], note: "", weather: "" };
  const f = h("form", { class: "field-form", oninput: typed, onchange: typed, onsubmit: (e) => { e.preventDefault(); record(); } });
  const why = h("p", { class: "why", role: "alert", id: "why" });
  const live = h("div", { id: "live", "aria-live": "polite" });
  const volumes = h("div", { class: "quad", id: "volumes" });
  const drawVolumes = () => volumes.replaceChildren(...d.ends.map((name) => field(`Placed at ${name}`, `volume-${name}`, { inputmode: "decimal", value: d.volumes[name] ?? "" }, "L")));
  async function typed(ev) {
    const v = (name) => f.elements[name]?.value?.trim?.() ?? "";
    if (ev.target.name === "ends") {
      d.ends = [end.name, ...[...f.querySelectorAll("[name=ends]:checked")].map((x) => x.value).filter((x) => x !== end.name)];
      drawVolumes();
    }
    Object.assign(d, { started: v("started"), ended: v("ended"), note: v("note"), weather: v("weather") });
    for (const name of d.ends) d.volumes[name] = v(`volume-${name}`);
    await keep(end, d);
  }
  function tell() {
    const lim = p.casting.limits;
    live.replaceChildren(...[warnings(coldJoints(d.batches, lim).map((x) => ({ grade: "warn", words: `Batch ${x.n} followed after ${Math.round(x.min)} min, a cold joint is feared above ${lim.interval}` }))),
      h("ul", { class: "t-found bare-list" }, waiting(d, lim).map((x) => h("li", { class: x.grade }, x.grade && h("strong", {}, mark[x.grade]), ` ${x.words}.`)))].filter(Boolean));
  }
  const made = d.sets.reduce((n, s) => n + Number(s.count || 0), 0);
  const planned = async () => {
    const was = location.hash;
    const placed = d.batches.map((b, i) => (b.refused ? 0 : i + 1)).filter(Boolean);
    for (const [i, n] of placed.entries()) {
      for (const s of p.casting.plan) if (s.per === "batch" || i === placed.length - 1) d.sets.push({ batch: n, kind: s.kind, curing: s.curing, duty: s.duty, nominal_days: s.nominal_days, count: s.count, purpose: s.purpose });
    }
    if (await keep(end, d) && location.hash === was) start(end);
  };
  async function record() {
    const was = location.hash;
    const placed = d.batches.filter((b) => !b.refused);
    why.textContent = !d.started ? "Say when the pour began." : !d.batches.length ? "Add at least one batch." : !placed.length ? "Every batch was refused: nothing was cast." : d.batches.some((b) => !b.mixed) ? "Each batch needs the time at which mixing ended." : "";
    if (why.textContent) return;
    const id = (name) => ends.find((x) => x.name === name)?.id;
    const body = { ...only({ started: moment(d.started), ended: moment(d.ended), weather: d.weather, note: d.note }),
      ends: d.ends.map((name) => { const x = ends.find((e) => e.name === name); return only({ id: x.id, name, volume_l: d.volumes[name] ?? "", design_id: x.design?.id ?? "", revision: x.design?.revision || "" }); }),
      batches: d.batches.map((b) => ({ ...only({ ...b, ends: "", started: moment(b.started), mixed: moment(b.mixed), place_start: moment(b.place_start), placed: moment(b.placed), refused: b.refused === true }), ...(b.ends?.length ? { ends: b.ends.map(id).filter(Boolean) } : {}) })),
      ...(d.sets.length ? { specimens: d.sets.map((s) => only({ ...s, batch: Number(s.batch), nominal_days: Number(s.nominal_days), count: Number(s.count) })) } : {}) };
    try {
      await outbox.add({ kind: "pour", end, draft: key(end), label: `pour at ${d.ends.join(", ")}, ${count(d.batches.length, "batch", "batches")}, ${count(made, "specimen")}`, body });
    } catch (error) {
      why.textContent = store.plainly(error);
      return;
    }
    say(`Pour recorded: ${count(d.batches.length, "batch", "batches")}, ${count(made, "specimen")}. Their marks are given when it arrives.`);
    outbox.send();
    moveFrom(was, `#/end/${end.name}`);
  }
  drawVolumes();
  f.append(
    h("fieldset", { class: "tiles many" }, h("legend", {}, "Ends of this pour"), h("div", { class: "row" }, ends.map((e) => h("label", { class: "tick" }, h("input", { type: "checkbox", name: "ends", value: e.name, checked: d.ends.includes(e.name), disabled: e.name === end.name }), h("span", {}, h("strong", {}, e.name), ` ${e.reading}`))))),
    h("div", { class: "pair" }, clock("Pour began", "started", d.started), clock("Pour ended", "ended", d.ended)), live,
    h("section", { class: "zone", "aria-label": "Batches" }, h("h2", {}, "Batches"), h("ol", { class: "t-places", id: "batches" }, d.batches.map((b, i) => h("li", {}, link(`Batch ${i + 1}: ${b.refused ? "refused" : b.placed ? `placed ${b.placed.slice(11)}` : b.mixed ? `mixed ${b.mixed.slice(11)}` : "no time yet"}`, `${back(end)}/batch/${i + 1}`), warnings(ofBatch(b, p))))),
      h("p", { class: "t-ways" }, link("Add a batch", `${back(end)}/batch/${d.batches.length + 1}`, { id: "add-batch" }))),
    volumes,
    h("section", { class: "zone", "aria-label": "Specimens" }, h("h2", {}, `Specimens: ${made}`), h("p", { class: "small" }, "The record gives each its mark when the pour arrives; until then write the end, the batch and a running number on the mold."),
      h("ol", { class: "t-places", id: "sets" }, d.sets.map((s, i) => h("li", {}, link(`${s.count} of batch ${s.batch}, ${p.casting.kinds.find((k) => k.value === s.kind)?.label ?? s.kind}, ${s.curing}, ${s.nominal_days} days`, `${back(end)}/set/${i + 1}`)))),
      h("p", { class: "t-ways" }, link("Add a set", `${back(end)}/set/${d.sets.length + 1}`, { id: "add-set" }), d.batches.length > 0 && !d.sets.length && p.casting.plan.length > 0 && button(p.casting.default ? "As the default plan has it" : "As the plan asks", planned, { id: "planned" }))),
    field("Weather", "weather", { value: d.weather }), field("Note", "note", { rows: 2, value: d.note }), why,
    h("p", { class: "t-bottom t-ways" }, h("button", { type: "submit", class: "go", id: "record" }, "Record the pour"), link("Back", `#/end/${end.name}`)));
  show("Pour", head(end, "Pour"), p.casting ? f : h("p", {}, "Take the ends anew: what the tablet has is of an older version."));
  tell();
  clearInterval(ticking);
  ticking = setInterval(() => (live.isConnected ? tell() : clearInterval(ticking)), 15000);
}

export async function batch(end, n) {
  const p = await store.get("meta", "packet");
  const d = await draft(end) ?? { ends: [end.name], volumes: {}, started: now(), ended: "", batches: [], sets: [], note: "", weather: "" };
  if (n > d.batches.length + 1) { location.hash = back(end); return; }
  const last = d.batches[n - 2] ?? {};
  const b = d.batches[n - 1] ?? only({ fiber_target_kg: last.fiber_target_kg ?? "", water_target_kg: last.water_target_kg ?? "", lot: last.lot ?? "" });
  const found = h("div", { id: "found", "aria-live": "polite" });
  const number = (label, name, unit) => field(label, name, { inputmode: "decimal", value: b[name] ?? "" }, unit);
  const names = ["started", "mixed", "place_start", "placed", "flow_1", "flow_2", "mix_temp", "air_temp", "steel_temp", "premix_kg", "fiber_kg", "fiber_target_kg", "water_kg", "water_target_kg", "admixture_kg", "ice_kg", "bags", "lot", "refused_why", "note"];
  const why = h("p", { class: "why", role: "alert", id: "why" });
  const f = h("form", { class: "field-form", oninput: typed, onchange: typed, onsubmit: go },
    h("div", { class: "pair" }, clock("First water", "started", b.started), clock("Mixing ended", "mixed", b.mixed)),
    h("div", { class: "pair" }, number("Flow, one diameter", "flow_1", p.unit), number("Flow, at right angles", "flow_2", p.unit)),
    h("div", { class: "trio" }, number("Mix", "mix_temp", p.degree), number("Air", "air_temp", p.degree), number("Steel", "steel_temp", p.degree)), found,
    h("div", { class: "pair" }, clock("Placing began", "place_start", b.place_start), clock("Placed", "placed", b.placed)),
    d.ends.length > 1 && h("fieldset", { class: "tiles many" }, h("legend", {}, "Went to"), h("div", { class: "row" }, d.ends.map((name) => h("label", { class: "tick" }, h("input", { type: "checkbox", name: "ends", value: name, checked: !b.ends || b.ends.includes(name) }), h("span", {}, name))))),
    h("fieldset", { class: "zone" }, h("legend", {}, "Masses"), h("div", { class: "quad" }, number("Premix", "premix_kg", "kg"), number("Bags", "bags", ""), number("Water", "water_kg", "kg"), number("Water, target", "water_target_kg", "kg"), number("Fiber", "fiber_kg", "kg"),
      number("Fiber, target", "fiber_target_kg", "kg"), number("Admixture", "admixture_kg", "kg"), number("Ice", "ice_kg", "kg")), field("Lot of the premix", "lot", { value: b.lot ?? "" })),
    h("label", { class: "tick wide" }, h("input", { type: "checkbox", name: "refused", value: "yes", checked: b.refused === true }), h("span", {}, "Refused: it does not go into the form")), field("Why refused", "refused_why", { value: b.refused_why ?? "" }),
    field("Note", "note", { rows: 2, value: b.note ?? "" }), why,
    h("p", { class: "t-bottom t-ways" }, h("button", { type: "submit", class: "go", id: "keep" }, "Keep this batch"), link("Back", back(end))));
  function read() {
    const data = new FormData(f);
    const out = only(Object.fromEntries(names.map((name) => [name, String(data.get(name) ?? "").trim()])));
    if (data.get("refused") === "yes") out.refused = true;
    const to = data.getAll("ends").map(String);
    if (to.length && to.length < d.ends.length) out.ends = to;
    return out;
  }
  function tell() {
    const x = read();
    const lim = p.casting.limits;
    const all = [...d.batches.slice(0, n - 1), x];
    found.replaceChildren(...[warnings([...ofBatch(x, p), ...coldJoints(all, lim).filter((j) => j.n === n).map((j) => ({ grade: "warn", words: `${Math.round(j.min)} min behind the batch before, a cold joint is feared above ${lim.interval}` }))])].filter(Boolean));
  }
  async function typed() {
    tell();
    d.batches[n - 1] = read();
    await keep(end, d);
  }
  async function go(ev) {
    ev.preventDefault();
    const was = location.hash;
    const x = read();
    why.textContent = !x.mixed ? "Say when mixing ended." : x.refused && !x.refused_why ? "Say why it was refused." : Boolean(x.flow_1) !== Boolean(x.flow_2) ? "Flow is read on two diameters at right angles: one is missing." : "";
    if (why.textContent) return;
    d.batches[n - 1] = x;
    if (await keep(end, d)) moveFrom(was, back(end));
  }
  show(`Batch ${n}`, head(end, `Batch ${n}`), f);
  tell();
}

export async function set(end, n) {
  const p = await store.get("meta", "packet");
  const d = await draft(end);
  if (!d?.batches.length) { say("Add a batch first.", "bad"); location.hash = back(end); return; }
  const placed = d.batches.map((b, i) => ({ b, n: i + 1 })).filter((x) => !x.b.refused);
  const s = d.sets[n - 1] ?? { batch: placed.at(-1)?.n ?? 1, kind: p.casting.kinds[0].value, curing: "standard", nominal_days: 28, count: 3 };
  const why = h("p", { class: "why", role: "alert", id: "why" });
  const go = async (ev) => {
    ev.preventDefault();
    const was = location.hash;
    const data = new FormData(ev.target);
    const x = { ...s, ...Object.fromEntries(["batch", "kind", "curing", "nominal_days", "count"].map((k) => [k, String(data.get(k) ?? "").trim()])) };
    const whole = Number(x.count);
    why.textContent = !(Number.isInteger(whole) && whole >= 1 && whole <= 100) ? "The number of specimens is from 1 to 100." : !(Number(x.nominal_days) > 0 && Number(x.nominal_days) <= 365) ? "The age is from 0 to 365 days." : "";
    if (why.textContent) return;
    d.sets[n - 1] = x;
    if (await keep(end, d)) moveFrom(was, back(end));
  };
  const remove = async () => {
    const was = location.hash;
    d.sets.splice(n - 1, 1);
    if (await keep(end, d)) moveFrom(was, back(end));
  };
  show("Specimens", head(end, "Specimens"), h("form", { class: "field-form", onsubmit: go },
    choice("Of batch", "batch", placed.map((x) => ({ value: String(x.n), label: `Batch ${x.n}` })), String(s.batch)), choice("Kind", "kind", p.casting.kinds, s.kind), choice("Curing", "curing", p.casting.cures, s.curing),
    h("div", { class: "pair" }, field("How many", "count", { inputmode: "numeric", value: s.count }), field("Age at the break", "nominal_days", { inputmode: "decimal", value: s.nominal_days }, "days")), why,
    h("p", { class: "t-bottom t-ways" }, h("button", { type: "submit", class: "go", id: "keep" }, "Keep this set"), d.sets[n - 1] && button("No such set", remove), link("Back", back(end)))));
}
