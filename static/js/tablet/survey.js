// Readings of remaining thickness, place by place on a number pad, with the holes and
// the parts beside the web. The reading of the last survey is shown only once the new
// one stands, so that it leads nobody.
import { button, choice, field, h, link, list, say, sentence, show, moveFrom } from "./dom.js";
import { head } from "./end.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";
import { count, decimals, mm, step, typed } from "./rules.js";

const key = (end) => `survey ${end.name}`;
const faces = { T: "through the web", L: "left face", R: "right face" };
const faceTiles = [{ value: "T", label: "Through the web" }, { value: "L", label: "Left face" }, { value: "R", label: "Right face" }];
const back = (end) => `#/end/${end.name}/survey`;

// A draft of the last version of this page has no holes and no parts.
const draft = async (end) => {
  const d = (await store.draft(key(end))) ?? null;
  if (d) { d.holes ??= (end.survey?.holes ?? []).map((x) => ({ ...x, was: true })); d.parts ??= {}; }
  return d;
};
const partsOf = (end) => end.survey?.parts ?? end.parts ?? [];

export async function start(end) {
  const d = await draft(end);
  if (!d) return begin(end);
  const packet = await store.get("meta", "packet");
  const done = d.places.filter((p) => p.t || p.no_access).length;
  const addPlace = async (ev) => {
    ev.preventDefault();
    const was = location.hash;
    const f = new FormData(ev.target);
    if (!f.get("x") || !f.get("z")) { say("A place needs x and z.", "bad"); return; }
    d.places.push({ face: f.get("face"), x: f.get("x"), z: f.get("z"), before: "" });
    await store.keepDraft(key(end), d);
    moveFrom(was, `${back(end)}/${d.places.length}`);
  };
  const left = d.places.length - done;
  const parts = partsOf(end);
  show("Readings", head(end, "Readings"), h("p", {}, `${done} of ${d.places.length} places read. They stay on the tablet as you go and are recorded together.`),
    left > 0 && end.survey && h("p", { class: "t-warn" }, `${count(left, "place")} of survey ${end.survey.number} ${left === 1 ? "is" : "are"} not read yet: the new survey stands on what is read now.`),
    h("p", { class: "t-ways" }, left > 0 && link(`Go on at place ${d.places.findIndex((p) => !p.t && !p.no_access) + 1}`, `${back(end)}/${d.places.findIndex((p) => !p.t && !p.no_access) + 1}`, { id: "go-on" }), link(`Holes: ${d.holes.length}`, `${back(end)}/hole/1`), link("Flange, stiffener, web line", `${back(end)}/parts`)),
    h("ol", { class: "t-places" }, d.places.map((p, i) => h("li", {}, link(`${faces[p.face] ?? p.face}, x ${p.x}, z ${p.z}: ${p.no_access ? "no access" : p.t || "not read"}`, `${back(end)}/${i + 1}`)))),
    h("section", { class: "zone", "aria-label": "Holes" }, h("h2", {}, "Holes"), h("p", { class: "small" }, "Holes of the last survey stand until you change or take them out here."),
      d.holes.length > 0 && h("ol", { class: "t-places", id: "holes" }, d.holes.map((x, i) => h("li", {}, link(`x ${x.x}, z ${x.z}: ${x.width} by ${x.height} ${packet.unit}${x.was ? ", as before" : ""}`, `${back(end)}/hole/${i + 1}`)))),
      h("p", { class: "t-ways" }, link("Add a hole", `${back(end)}/hole/${d.holes.length + 1}`, { id: "add-hole" }))),
    h("section", { class: "zone", "aria-label": "Flange and stiffener" }, h("h2", {}, "Flange, stiffener, web line"), list(parts.map((p) => `${p.title}: ${d.parts[p.name] ? `${d.parts[p.name]} ${packet.unit}` : p.was ? "not read again yet: it stands as before" : "not measured"}`)),
      h("p", { class: "t-ways" }, link("Measure them", `${back(end)}/parts`, { id: "parts" }))),
    h("form", { onsubmit: addPlace, class: "zone" }, h("h2", {}, "Another place"), choice("Face", "face", faceTiles, "T"),
      h("div", { class: "pair" }, field("From the girder end, x", "x", { inputmode: "decimal" }, packet.unit), field("Above the bottom flange, z", "z", { inputmode: "decimal" }, packet.unit)), h("p", { class: "t-ways" }, h("button", { type: "submit" }, "Add and read"))),
    field("Why thicker than as new, where it is", "thicker"), field("Note", "note", { rows: 2 }),
    h("p", { class: "why", id: "why", role: "alert" }),
    h("p", { class: "t-bottom t-ways" }, button(`Record ${count(done, "reading")}`, () => finish(end, d, done), { class: "go", id: "record", disabled: done === 0 }), link("Back", `#/end/${end.name}`)));
}

function begin(end) {
  const places = end.survey?.readings ?? [];
  const go = async (ev) => {
    ev.preventDefault();
    const was = location.hash;
    const form = new FormData(ev.target);
    const all = places.map((p) => ({ face: p.face, x: p.x, z: p.z, before: p.t }));
    await store.keepDraft(key(end), { kind: form.get("kind"), method: form.get("method"), gauge: form.get("gauge"), places: all, holes: (end.survey?.holes ?? []).map((x) => ({ ...x, was: true })), parts: {}, begun: new Date().toISOString() });
    if (all.length) moveFrom(was, `${back(end)}/1`);
    else start(end);
  };
  show("Readings", head(end, "Readings"), h("p", {}, end.survey ? `${end.survey.says}: ${places.length} places to read again, in their order.` : "No survey yet: add the places as you read."),
    h("form", { onsubmit: go }, choice("Steel", "kind", [{ value: "as_found", label: "As found" }, { value: "cleaned", label: "Cleaned" }], end.survey?.kind === "cleaned" ? "cleaned" : "as_found"),
      choice("Method", "method", [{ value: "ultrasonic", label: "Ultrasonic gauge" }, { value: "caliper", label: "Caliper" }, { value: "pit_gauge", label: "Pit gauge" }], "ultrasonic"),
      field("Gauge", "gauge"), h("p", { class: "t-bottom t-ways" }, h("button", { type: "submit", class: "go", id: "begin" }, "Begin"), link("Back", `#/end/${end.name}`))));
}

async function finish(end, d, done) {
  const was = location.hash;
  const readings = d.places.filter((p) => p.t || p.no_access).map((p) => (p.no_access ? { face: p.face, x: p.x, z: p.z, no_access: true, reason: p.reason || "no access" } : { face: p.face, x: p.x, z: p.z, t: p.t }));
  const thicker = document.getElementById("f-thicker").value.trim();
  // What was not measured again stands as it was, and the record says so.
  const parts = {};
  const kept = [];
  for (const p of partsOf(end)) {
    const value = d.parts[p.name] || p.was;
    if (value) parts[p.name] = value;
    if (!d.parts[p.name] && p.was) kept.push(p.title.toLowerCase());
  }
  const old = d.holes.filter((x) => x.was).length;
  if (old) kept.push(`${old} ${old === 1 ? "hole" : "holes"}`);
  const note = [document.getElementById("f-note").value.trim(), kept.length ? `not measured again, as in survey ${end.survey.number}: ${kept.join(", ")}` : ""].filter(Boolean).join("; ");
  const holes = d.holes.map(({ x, z, width, height, rim }) => ({ x, z, width, height, ...(rim ? { rim } : {}) }));
  const entry = await outbox.add({ kind: "survey", end, draft: key(end), label: `survey, ${count(done, "reading")}${holes.length ? `, ${count(holes.length, "hole")}` : ""}`,
    body: { kind: d.kind, method: d.method, ...(d.gauge ? { gauge: d.gauge } : {}), ...(thicker ? { thicker_reason: thicker } : {}), ...(note ? { note } : {}), ...parts, readings, ...(holes.length ? { holes } : {}) } }).catch((error) => { document.getElementById("why").textContent = store.plainly(error); });
  if (!entry) return;
  say(`${count(done, "reading")} recorded.`);
  outbox.send();
  moveFrom(was, `#/end/${end.name}`);
}

// hole is one hole through the web: its place and its size.
export async function hole(end, n) {
  const packet = await store.get("meta", "packet");
  const d = await draft(end);
  if (!d || n > d.holes.length + 1) { location.hash = back(end); return; }
  const x = d.holes[n - 1] ?? {};
  const why = h("p", { class: "why", role: "alert", id: "why" });
  const box = (label, name) => field(label, name, { inputmode: "decimal", value: x[name] ?? "" }, packet.unit);
  const keep = async (ev) => {
    ev.preventDefault();
    const was = location.hash;
    const f = Object.fromEntries([...new FormData(ev.target)].map(([k, v]) => [k, String(v).trim()]));
    const missing = ["x", "z", "width", "height"].find((k) => !(mm(f[k], packet.units) >= 0) || (["width", "height"].includes(k) && !(mm(f[k], packet.units) > 0)));
    if (missing) { why.textContent = `Give ${{ x: "the place, x", z: "the place, z", width: "the width", height: "the height" }[missing]} of the hole as a length.`; return; }
    d.holes[n - 1] = { x: f.x, z: f.z, width: f.width, height: f.height, ...(f.rim ? { rim: f.rim } : {}) };
    await store.keepDraft(key(end), d);
    say(`Hole ${n}: ${f.width} by ${f.height} ${packet.unit}.`);
    moveFrom(was, back(end));
  };
  const remove = async () => {
    const was = location.hash;
    d.holes.splice(n - 1, 1);
    await store.keepDraft(key(end), d);
    moveFrom(was, back(end));
  };
  show("Hole", head(end, `Hole ${n}`), h("p", {}, "The place of its middle, its size, and the thinnest metal of its rim."),
    h("form", { class: "field-form", onsubmit: keep }, h("div", { class: "pair" }, box("Middle from the girder end, x", "x"), box("Middle above the bottom flange, z", "z")),
      h("div", { class: "pair" }, box("Width along the web", "width"), box("Height", "height")), box("Rim, least thickness, where it was measured", "rim"), why,
      h("p", { class: "t-bottom t-ways" }, h("button", { type: "submit", class: "go", id: "keep" }, "Keep this hole"), d.holes[n - 1] && button("No such hole", remove, { id: "remove" }), link("Back", back(end)))));
}

// parts are the flange and the stiffener over the bearing, and the line of the web.
export async function parts(end) {
  const packet = await store.get("meta", "packet");
  const d = await draft(end);
  if (!d) { location.hash = back(end); return; }
  const all = partsOf(end);
  const keep = async (ev) => {
    ev.preventDefault();
    const was = location.hash;
    const f = new FormData(ev.target);
    for (const p of all) d.parts[p.name] = String(f.get(p.name) ?? "").trim();
    const bad = all.find((p) => d.parts[p.name] && !(mm(d.parts[p.name], packet.units) >= 0));
    if (bad) { document.getElementById("why").textContent = `${sentence(bad.title)} "${d.parts[bad.name]}" is no length.`; return; }
    await store.keepDraft(key(end), d);
    // The last survey's values, now that the new ones stand.
    const shown = all.filter((p) => d.parts[p.name] && p.was).map((p) => `${p.title}: ${d.parts[p.name]}, before ${p.was}`);
    say(shown.length ? `${shown.join(". ")}.` : "Kept.");
    moveFrom(was, back(end));
  };
  show("Flange and stiffener", head(end, "Flange, stiffener, web line"), h("p", {}, "Leave a box empty where nothing was measured: what the last survey has stands, and the record says so."),
    h("form", { class: "field-form", onsubmit: keep }, h("div", { class: "pair" }, all.map((p) => field(p.title, p.name, { inputmode: "decimal", value: d.parts[p.name] ?? "" }, packet.unit))), h("p", { class: "why", role: "alert", id: "why" }),
      h("p", { class: "t-bottom t-ways" }, h("button", { type: "submit", class: "go", id: "keep" }, "Keep"), link("Back", back(end)))));
}

export async function place(end, n) {
  const packet = await store.get("meta", "packet");
  const u = packet.units;
  const d = await draft(end);
  const p = d?.places[n - 1];
  if (!p) { location.hash = back(end); return; }
  const before = d.places.slice(0, n - 1).reverse().find((x) => x.t)?.t ?? "";
  let digits = "";
  let value = p.t ?? "";
  const shown = h("output", { class: "t-value", id: "value" });
  const reveal = h("p", { class: "t-reveal", id: "reveal", role: "status" });
  const look = () => { shown.textContent = value || "–"; };
  const key1 = (c) => { digits = (digits + c).slice(0, 5); value = typed(digits, u); look(); };
  const nudge = (by) => { value = Math.max(0, Number(value || before || end.web_mm / (u === "us" ? 25.4 : 1)) + by * step(u)).toFixed(decimals(u)); digits = ""; look(); };
  const save = async (fields) => {
    Object.assign(p, { t: "", no_access: false, at: new Date().toISOString() }, fields);
    try {
      await store.keepDraft(key(end), d);
      return true;
    } catch (error) {
      reveal.textContent = store.plainly(error);
      return false;
    }
  };
  const go = () => { location.hash = n < d.places.length ? `${back(end)}/${n + 1}` : back(end); };
  const keep = async () => {
    if (!(Number(value) >= 0) || value === "") return;
    if (!await save({ t: value })) return;
    // The last survey's reading, now that the new one stands.
    const was = Number(p.before);
    if (p.before && Number(value) > was + step(u) / 2) {
      reveal.replaceChildren(`Before ${p.before}, now ${value}: thicker than before. Read again, or go on.`, " ", button("Go on", go, { class: "go", id: "goon" }));
      return;
    }
    say(p.before ? `Place ${n}: ${value}, before ${p.before}.` : `Place ${n}: ${value}.`);
    go();
  };
  // The same place from another face is a reading of its own, behind this one.
  const twins = d.places.filter((x) => x.x === p.x && x.z === p.z).map((x) => x.face);
  const other = ["R", "L", "T"].filter((f) => !twins.includes(f));
  const fromFace = async (face) => {
    if (value !== "" && Number(value) >= 0 && !await save({ t: value })) return;
    d.places.splice(n, 0, { face, x: p.x, z: p.z, before: "" });
    await store.keepDraft(key(end), d);
    location.hash = `${back(end)}/${n + 1}`;
  };
  look();
  show("Reading", head(end, `Reading ${n} of ${d.places.length}`), h("p", { class: "t-reading" }, `${faces[p.face] ?? p.face}, x ${p.x}, z ${p.z} ${packet.unit}`),
    h("div", { class: "t-pad" }, h("div", { class: "t-screen" }, shown, h("span", {}, packet.unit)), reveal,
      h("div", { class: "t-keys" }, "789456123".split("").map((c) => button(c, () => key1(c), { "data-key": c })), button("⌫", () => { digits = digits.slice(0, -1); value = digits ? typed(digits, u) : ""; look(); }, { "aria-label": "Back one digit" }),
        button("0", () => key1("0"), { "data-key": "0" }), button("Next", keep, { class: "go", id: "next" })),
      h("div", { class: "t-keys two" }, button(`− ${step(u)}`, () => nudge(-1), { id: "less" }), button(`+ ${step(u)}`, () => nudge(1), { id: "more" }),
        button(before ? `Same: ${before}` : "Same as last", () => { value = before; digits = ""; look(); }, { disabled: !before, id: "same" }), button("No access", async () => { if (await save({ no_access: true })) go(); }))),
    h("p", { class: "t-ways" }, n > 1 && link("Place before", `${back(end)}/${n - 1}`), link("All places", back(end)), other.map((f) => button(`Also ${faces[f]}`, () => fromFace(f), { "data-face": f }))));
}
