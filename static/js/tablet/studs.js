// Collar by collar: a map on which a tap takes a stud as full all round, and a sheet
// for everything else. Taps stand in pencil until they are recorded, so that a glove
// that slips records nothing.
import { button, choice, dial, field, h, link, say, sentence, show, moveFrom } from "./dom.js";
import { found, head } from "./end.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";
import { length, mm, outcomeOf, outcomes, permitted } from "./rules.js";

const SVG = "http://www.w3.org/2000/svg";

// glyph is the sign of an outcome: shape and letter, told by neither color alone.
function glyph(o, pencil) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("class", `glyph-stud ${pencil ? "unseen" : o.kind}`);
  svg.setAttribute("viewBox", "0 0 44 44");
  svg.setAttribute("aria-hidden", "true");
  const shape = document.createElementNS(SVG, o.kind === "bad" ? "path" : o.kind === "gap" ? "path" : "circle");
  if (o.kind === "bad") shape.setAttribute("d", "M4 4h36v36H4z");
  else if (o.kind === "gap") shape.setAttribute("d", "M22 3 42 40H2z");
  else for (const [k, v] of [["cx", 22], ["cy", 22], ["r", 19]]) shape.setAttribute(k, v);
  const text = document.createElementNS(SVG, "text");
  for (const [k, v] of [["x", 22], ["y", o.kind === "gap" ? 34 : 29], ["text-anchor", "middle"]]) text.setAttribute(k, v);
  text.textContent = o.letter;
  svg.append(shape, text);
  return svg;
}

const draftKey = (end) => `studs ${end.name} ${end.design.id}`;

export async function map(end) {
  const gone = () => decodeURIComponent(location.hash) !== `#/end/${end.name}/studs`;
  if (!end.design?.faces?.length) return show("Collars", head(end, "Weld collars"), h("p", {}, "This end has no design with studs."), link("Back", `#/end/${end.name}`));
  const key = draftKey(end);
  const pencil = (await store.draft(key)) ?? {};
  const seen = await found(end);
  const more = (await store.get("meta", "stud-tap")) === "sheet";
  const n = Object.keys(pencil).length;
  const tap = async (mark) => {
    if (more || seen.get(mark)?.outcome) { location.hash = `#/end/${end.name}/stud/${encodeURIComponent(mark)}`; return; }
    if (pencil[mark]) delete pencil[mark];
    else pencil[mark] = new Date().toISOString();
    try {
      await store.keepDraft(key, pencil);
    } catch (error) {
      say(store.plainly(error), "bad");
      return;
    }
    await map(end);
    document.querySelector(`[data-mark="${CSS.escape(mark)}"]`)?.focus({ preventScroll: true });
  };
  const cell = (c) => {
    if (!c) return h("td");
    const at = seen.get(c.mark);
    const o = pencil[c.mark] ? { ...outcomeOf("full") } : outcomeOf(at?.outcome);
    return h("td", {}, h("button", { type: "button", class: `stud-cell ${o.kind}${pencil[c.mark] ? " pencil" : ""}`, "data-mark": c.mark, onclick: () => tap(c.mark), "aria-pressed": pencil[c.mark] ? "true" : null },
      glyph(o, Boolean(pencil[c.mark])), h("span", { class: "stud-name" }, c.mark), h("span", { class: "sr" }, pencil[c.mark] ? "all round, not recorded yet" : o.words)));
  };
  const last = (await store.get("meta", "welder")) ?? {};
  // Kept as it is typed: every tap draws the map anew.
  const keepWho = () => store.put("meta", { welder: document.getElementById("f-welder").value.trim(), lot: document.getElementById("f-lot").value.trim() }, "welder").catch((error) => say(store.plainly(error), "bad"));
  const record = async () => {
    const welder = document.getElementById("f-welder").value.trim();
    const lot = document.getElementById("f-lot").value.trim();
    try {
      await recordAll(welder, lot);
    } catch (error) {
      // Those that were kept are out of the pencil; the others are still in it.
      await map(end);
      say(store.plainly(error), "bad");
      return;
    }
    say(`${n} studs recorded, all round.`);
    outbox.send();
    await map(end);
  };
  const recordAll = async (welder, lot) => {
    await store.put("meta", { welder, lot }, "welder");
    for (const [mark, at] of Object.entries(pencil).sort((a, b) => a[1].localeCompare(b[1]))) {
      await outbox.add({ kind: "collar", end, mark, label: `stud ${mark}, collar all round`, captured: new Date(at), against: { found: seen.get(mark)?.found || "" }, draft: key,
        body: { mark, outcome: "full", ...(welder ? { welder } : {}), ...(lot ? { ferrule_lot: lot } : {}) } });
    }
  };
  const left = [...seen.values()].filter((x) => !x.outcome).length;
  if (gone()) return; // its reader went elsewhere while this was read
  show("Collars", head(end, "Weld collars"), h("p", {}, end.design.says, ` ${left} of ${seen.size} without a finding.`),
    end.warnings.length > 0 && h("section", { class: "banner", "aria-label": "Warnings" }, h("ul", {}, end.warnings.map((w) => h("li", {}, w)))),
    h("div", { class: "t-modes", role: "group", "aria-label": "What a tap does" },
      button("Tap: all round", async () => { await store.put("meta", "full", "stud-tap"); map(end); }, { "aria-pressed": String(!more) }),
      button("Tap: other finding", async () => { await store.put("meta", "sheet", "stud-tap"); map(end); }, { "aria-pressed": String(more), id: "other" })),
    end.design.faces.map((f) => h("section", { class: "face", "aria-labelledby": `face-${f.id}` }, h("h2", { id: `face-${f.id}` }, f.title), h("p", { class: "small" }, f.ends),
      h("div", { class: "table", role: "region", tabindex: "0", "aria-label": `Studs of the ${f.title}` }, h("table", { class: "stud-map" },
        h("thead", {}, h("tr", {}, h("td"), f.columns.map((c) => h("th", { scope: "col" }, c)))),
        h("tbody", {}, f.rows.map((r) => h("tr", {}, h("th", { scope: "row" }, r.label, h("span", { class: "small" }, r.height)), r.cells.map(cell)))))))),
    h("div", { class: "pair" }, field("Welder", "welder", { value: last.welder ?? "", oninput: keepWho }), field("Ferrule lot", "lot", { value: last.lot ?? "", oninput: keepWho })),
    h("p", { class: "t-bottom t-ways" }, button(n ? `Record ${n} all round` : "Tap studs that are full all round", record, { class: "go", id: "record", disabled: n === 0 }), link("Back", `#/end/${end.name}`)));
}

// sheet is everything else that may be found at a stud.
export async function sheet(end, mark) {
  const seen = await found(end);
  const at = seen.get(mark);
  if (!at) throw new Error(`The design on this tablet has no stud ${mark}.`);
  const packet = await store.get("meta", "packet");
  const u = packet.units;
  const last = (await store.get("meta", "welder")) ?? {};
  const place = end.design.faces.flatMap((f) => f.rows.flatMap((r) => r.cells)).find((c) => c?.mark === mark)?.place;
  const needs = { gap: ["gap"], repaired_fillet: ["gap", "fillet"], bent_pass: ["gap", "bend"], bent_fail: ["gap", "bend"] };
  const rule = h("div", { class: "repairs", id: "repairs", "aria-live": "polite" });
  const parts = {
    gap: h("div", { class: "pair wide-first", hidden: true }, dial("gap_clock", "Middle of the gap, as you face the web"), h("div", { class: "beside" }, field("Length of the gap", "gap_length", { inputmode: "decimal" }, packet.unit), rule)),
    fillet: h("div", { class: "pair", hidden: true }, field("Fillet size", "fillet_size", { inputmode: "decimal" }, packet.unit), field("Fillet length", "fillet_length", { inputmode: "decimal" }, packet.unit)),
    bend: h("div", { class: "pair wide-first", hidden: true }, dial("bend_clock", "Bent toward"), field("Bent by", "bend_deg", { inputmode: "decimal", value: packet.bend.deg }, "°")),
  };
  const form = h("form", { id: "stud", onsubmit: (e) => { e.preventDefault(); record(); }, onchange: sort, oninput: sort },
    choice("What did you find?", "outcome", outcomes.map((o) => ({ value: o.value, label: `${o.letter}  ${o.words}` }))), parts.gap, parts.fillet, parts.bend,
    h("label", { class: "tick wide" }, h("input", { type: "checkbox", name: "fissure" }), h("span", {}, "Fissure in the collar")),
    h("div", { class: "trio" }, field("Height after welding", "height", { inputmode: "decimal" }, packet.unit), field("Welder", "welder", { value: last.welder ?? "" }), field("Ferrule lot", "ferrule_lot", { value: last.lot ?? "" })),
    field("What was done, note", "note", { rows: 2 }), h("p", { class: "why", id: "why", role: "alert" }),
    h("p", { class: "t-bottom t-ways" }, h("button", { type: "submit", class: "go", id: "record" }, "Record"), link("Map", `#/end/${end.name}/studs`)));
  const value = (name) => form.elements[name]?.value?.trim?.() ?? "";
  function sort() {
    const want = needs[value("outcome")] ?? [];
    for (const [k, part] of Object.entries(parts)) part.hidden = !want.includes(k);
    const p = permitted(end.design.repair, packet.bend, Number(value("gap_clock")), mm(value("gap_length"), u));
    rule.replaceChildren(...(!p ? [h("p", {}, "Give the middle and the length of the gap: what may be done about it is shown here.")] : p.replace ? [h("h3", {}, "Replace"), h("p", {}, sentence(end.design.repair.none))] : [
      h("h3", {}, "Permitted"),
      h("p", {}, h("strong", {}, `Fillet ${length(p.size, u)}, at least ${length(p.length, u)} long`), `: the gap and ${end.design.repair.over} past each end.`), h("p", { class: "small" }, end.design.repair.clause),
      h("p", {}, h("strong", {}, `Or bend ${p.deg} degrees toward ${p.toward} o'clock`), ", away from the gap. Without a fracture it may stay bent where cover and forms allow."), h("p", { class: "small" }, packet.bend.clause)]));
  }
  async function record() {
    const outcome = value("outcome");
    const want = needs[outcome] ?? [];
    const why = document.getElementById("why");
    why.textContent = !outcome ? "Choose what you found." : want.includes("gap") && ["gap", "repaired_fillet"].includes(outcome) && (!value("gap_clock") || !value("gap_length")) ? "A gap needs its middle and its length." : "";
    if (why.textContent) return;
    const was = location.hash;
    const body = { mark, outcome };
    const text = (name) => { if (value(name)) body[name] = value(name); };
    const hour = (name) => { if (value(name)) body[name] = Number(value(name)); };
    if (want.includes("gap")) { hour("gap_clock"); text("gap_length"); }
    if (want.includes("fillet")) { text("fillet_size"); text("fillet_length"); }
    if (want.includes("bend")) { hour("bend_clock"); text("bend_deg"); }
    if (form.elements.fissure.checked) body.fissure = true;
    for (const name of ["height", "welder", "ferrule_lot", "note"]) text(name);
    if (outcome === "repaired_fillet" && body.note) body.repair = body.note;
    try {
      await store.put("meta", { welder: value("welder"), lot: value("ferrule_lot") }, "welder");
      await outbox.add({ kind: "collar", end, mark, draft: draftKey(end), label: `stud ${mark}, ${outcomeOf(outcome).words.toLowerCase()}`, body, against: { found: at.found || "" } });
    } catch (error) {
      why.textContent = store.plainly(error);
      return;
    }
    say(`Stud ${mark}: ${outcomeOf(outcome).words.toLowerCase()}, recorded.`);
    outbox.send();
    moveFrom(was, `#/end/${end.name}/studs`);
  }
  show(`Stud ${mark}`, head(end, "Weld collar"), h("div", { class: "stud-now" }, glyph(outcomeOf(at.outcome)), h("div", {}, h("h2", {}, `Stud ${mark}: ${outcomeOf(at.outcome).words}`), h("p", {}, sentence(place)), at.detail && h("p", { class: "small" }, at.detail))), form);
  sort();
}
