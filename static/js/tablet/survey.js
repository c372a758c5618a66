// Readings of remaining thickness, place by place on a number pad. The reading of the
// last survey is shown only once the new one stands, so that it leads nobody.
import { button, choice, field, h, link, say, show, moveFrom } from "./dom.js";
import { head } from "./end.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";
import { decimals, step, typed } from "./rules.js";

const key = (end) => `survey ${end.name}`;
const faces = { T: "through the web", L: "left face", R: "right face" };

const draft = async (end) => (await store.draft(key(end))) ?? null;

export async function start(end) {
  const packet = await store.get("meta", "packet");
  const d = await draft(end);
  const places = end.survey?.readings ?? [];
  if (!d) {
    const begin = async (ev) => {
      ev.preventDefault();
      const was = location.hash;
      const form = new FormData(ev.target);
      const list = places.map((p) => ({ face: p.face, x: p.x, z: p.z, before: p.t }));
      await store.keepDraft(key(end), { kind: form.get("kind"), method: form.get("method"), gauge: form.get("gauge"), places: list, begun: new Date().toISOString() });
      if (list.length) moveFrom(was, `#/end/${end.name}/survey/1`);
      if (!list.length) start(end);
    };
    show("Readings", head(end, "Readings"), h("p", {}, end.survey ? `${end.survey.says}: ${places.length} places to read again, in their order.` : "No survey yet: add the places as you read."),
      h("form", { onsubmit: begin }, choice("Steel", "kind", [{ value: "as_found", label: "As found" }, { value: "cleaned", label: "Cleaned" }], end.survey?.kind === "cleaned" ? "cleaned" : "as_found"),
        choice("Method", "method", [{ value: "ultrasonic", label: "Ultrasonic gauge" }, { value: "caliper", label: "Caliper" }, { value: "pit_gauge", label: "Pit gauge" }], "ultrasonic"),
        field("Gauge", "gauge"), h("p", { class: "t-ways" }, h("button", { type: "submit", class: "go", id: "begin" }, "Begin"), link("Back", `#/end/${end.name}`))));
    return;
  }
  const done = d.places.filter((p) => p.t || p.no_access).length;
  const addPlace = async (ev) => {
    ev.preventDefault();
    const was = location.hash;
    const f = new FormData(ev.target);
    if (!f.get("x") || !f.get("z")) return;
    d.places.push({ face: f.get("face"), x: f.get("x"), z: f.get("z"), before: "" });
    await store.keepDraft(key(end), d);
    moveFrom(was, `#/end/${end.name}/survey/${d.places.length}`);
  };
  const finish = async () => {
    const was = location.hash;
    const readings = d.places.filter((p) => p.t || p.no_access).map((p) => (p.no_access ? { face: p.face, x: p.x, z: p.z, no_access: true, reason: p.reason || "no access" } : { face: p.face, x: p.x, z: p.z, t: p.t }));
    const thicker = document.getElementById("f-thicker").value.trim();
    const note = document.getElementById("f-note").value.trim();
    await outbox.add({ kind: "survey", end, draft: key(end), label: `survey, ${readings.length} readings`,
      body: { kind: d.kind, method: d.method, ...(d.gauge ? { gauge: d.gauge } : {}), ...(thicker ? { thicker_reason: thicker } : {}), ...(note ? { note } : {}), readings } });
    say(`${readings.length} readings recorded.`);
    outbox.send();
    moveFrom(was, `#/end/${end.name}`);
  };
  show("Readings", head(end, "Readings"), h("p", {}, `${done} of ${d.places.length} places read. They stay on the tablet as you go and are recorded together.`),
    h("ol", { class: "t-places" }, d.places.map((p, i) => h("li", {}, link(`${faces[p.face] ?? p.face}, x ${p.x}, z ${p.z}: ${p.no_access ? "no access" : p.t || "not read"}`, `#/end/${end.name}/survey/${i + 1}`)))),
    h("form", { onsubmit: addPlace, class: "zone" }, h("h2", {}, "Another place"), choice("Face", "face", [{ value: "T", label: "Through the web" }, { value: "L", label: "Left face" }, { value: "R", label: "Right face" }], "T"),
      h("div", { class: "pair" }, field("From the girder end, x", "x", { inputmode: "decimal" }, packet.unit), field("Above the bottom flange, z", "z", { inputmode: "decimal" }, packet.unit)), h("button", { type: "submit" }, "Add and read")),
    field("Why thicker than as new, where it is", "thicker"), field("Note", "note", { rows: 2 }),
    h("p", { class: "t-bottom t-ways" }, button(`Record ${done} readings`, finish, { class: "go", id: "record", disabled: done === 0 }), link("Back", `#/end/${end.name}`)));
}

export async function place(end, n) {
  const packet = await store.get("meta", "packet");
  const u = packet.units;
  const d = await draft(end);
  const p = d?.places[n - 1];
  if (!p) { location.hash = `#/end/${end.name}/survey`; return; }
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
    await store.keepDraft(key(end), d);
  };
  const go = () => { location.hash = n < d.places.length ? `#/end/${end.name}/survey/${n + 1}` : `#/end/${end.name}/survey`; };
  const keep = async () => {
    if (!(Number(value) >= 0) || value === "") return;
    await save({ t: value });
    // The last survey's reading, now that the new one stands.
    const was = Number(p.before);
    if (p.before && Number(value) > was + step(u) / 2) {
      reveal.replaceChildren(`Before ${p.before}, now ${value}: thicker than before. Read again, or go on.`, " ", button("Go on", go, { class: "go", id: "goon" }));
      return;
    }
    say(p.before ? `Place ${n}: ${value}, before ${p.before}.` : `Place ${n}: ${value}.`);
    go();
  };
  look();
  show("Reading", head(end, `Reading ${n} of ${d.places.length}`), h("p", { class: "t-reading" }, `${faces[p.face] ?? p.face}, x ${p.x}, z ${p.z} ${packet.unit}`),
    h("div", { class: "t-pad" }, h("div", { class: "t-screen" }, shown, h("span", {}, packet.unit)), reveal,
      h("div", { class: "t-keys" }, "789456123".split("").map((c) => button(c, () => key1(c), { "data-key": c })), button("⌫", () => { digits = digits.slice(0, -1); value = digits ? typed(digits, u) : ""; look(); }, { "aria-label": "Back one digit" }),
        button("0", () => key1("0"), { "data-key": "0" }), button("Next", keep, { class: "go", id: "next" })),
      h("div", { class: "t-keys two" }, button(`− ${step(u)}`, () => nudge(-1)), button(`+ ${step(u)}`, () => nudge(1)),
        button(before ? `Same: ${before}` : "Same as last", () => { value = before; digits = ""; look(); }, { disabled: !before, id: "same" }), button("No access", async () => { await save({ no_access: true }); go(); }))),
    h("p", { class: "t-ways" }, n > 1 && link("Place before", `#/end/${end.name}/survey/${n - 1}`), link("All places", `#/end/${end.name}/survey`)));
}
