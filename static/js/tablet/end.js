// One girder end: whether its holder stands there, what is known of it, and what may
// be recorded.
import { button, drawing, h, link, list, sentence, show as screen } from "./dom.js";
import * as store from "./store.js";
import { outcomeOf } from "./rules.js";

export async function find(name) {
  const end = await store.get("ends", name);
  if (!end) throw new Error(`${name} is not on this tablet. Choose it for the shift while there is signal.`);
  return end;
}

// head names the end, with its plain reading large: near and far are mixed up most.
export const head = (end, what) => h("header", { class: "field-head" }, h("p", { class: "label" }, what),
  h("h1", {}, h("span", { class: "field-name" }, end.name), " ", h("span", { class: "field-reading" }, end.reading)), end.alias && h("p", { class: "small" }, `Also called ${end.alias}`));

// here opens a screen that records only for the end at which its holder stands.
export async function here(name, draw, ...rest) {
  const end = await find(name);
  const at = await store.get("meta", "here");
  if (at?.end === name) return draw(end, ...rest);
  guard(end, () => draw(end, ...rest));
}

function guard(end, go) {
  screen(end.name, h("section", { class: "t-guard", "aria-label": "Are you there?" },
    h("p", { class: "label" }, "Are you there?"), h("h1", {}, h("span", { class: "field-name" }, end.name)),
    h("p", { class: "t-reading" }, end.reading), h("p", {}, `Span ${end.span}, ${end.side === "N" ? "near" : "far"} end, girder ${end.girder}.`), end.alias && h("p", {}, `Also called ${end.alias}.`),
    button("Yes, I stand there", async () => { await store.put("meta", { end: end.name, how: "confirmed on the tablet" }, "here"); await go(); }, { class: "go", id: "yes" }),
    link("No, back", "#/")));
}

export async function show(name) {
  const end = await find(name);
  const at = await store.get("meta", "here");
  if (at?.end !== name) return guard(end, () => show(name));
  const packet = await store.get("meta", "packet");
  const mine = await store.entriesOf(name);
  const may = (kind) => packet.may.includes(kind);
  // What this tablet has of a kind goes before what the packet says of it.
  const newest = (kind, says) => {
    const own = mine.filter((e) => e.kind === kind && e.state !== "replaced");
    return own.length ? `${own.length > 1 ? `${own.length} entered here` : "Entered here"}, the last: ${own.at(-1).label}, ${own.at(-1).state === "stored" ? "on record" : own.at(-1).state}. ${says ?? ""}` : says;
  };
  const to = (title, path, says) => h("a", { class: "place-card", href: `#/end/${name}/${path}` }, h("strong", {}, title), says && h("span", {}, says));
  const blanks = [];
  if (end.design && may("collar")) {
    const seen = await found(end);
    const left = end.design.faces.flatMap((f) => f.rows.flatMap((r) => r.cells.filter((c) => c && !seen.get(c.mark)?.outcome))).length;
    if (left) blanks.push(`${left} studs without a finding`);
  }
  for (const z of end.cleaning) if (z.last === "nothing recorded" && !mine.some((e) => e.kind === "cleaning")) blanks.push(`cleaning, ${z.title.toLowerCase()}: nothing recorded`);
  screen(name, head(end, "At this end"),
    end.warnings.length > 0 && h("section", { class: "banner", "aria-label": "Warnings" }, h("h2", {}, "Read this first"), list(end.warnings)),
    h("nav", { class: "t-cards", "aria-label": "Record" },
      may("survey") && to("Readings", "survey", newest("survey", end.survey ? end.survey.says : "No survey yet")),
      may("cleaning") && to("Cleaning", "cleaning", newest("cleaning", end.cleaning.map((z) => `${z.title}: ${z.last}`).join(". "))),
      may("collar") && end.design && to("Weld collars", "studs", newest("collar", end.design.says)),
      (end.shift ?? []).filter((c) => may(c.kind)).map((c) => to(c.title, `shift/${c.kind}`, newest(c.kind, sentence(c.says)))),
      may("inspection") && packet.checks.map((c) => to(c.title, `check/${c.subject}`)),
      may("pour") && to("Pour", "pour", newest("pour")), may("nonconformance") && to("Nonconformance", "nonconformance", newest("nonconformance", end.findings.length ? `${end.findings.length} open` : "")), may("photo") && to("Photograph", "photo")),
    h("h2", {}, "Missing before you leave"), blanks.length ? list(blanks) : h("p", {}, "Nothing that this tablet knows of."),
    mine.length > 0 && [h("h2", {}, "Entered on this tablet"), h("ul", { class: "bare-list", id: "entered" }, mine.slice(-8).reverse().map((e) => h("li", {}, `${e.label}, ${e.state === "stored" ? "on record" : e.state}`))), mine.length > 8 && h("p", { class: "small" }, `${mine.length - 8} earlier ones are in the outbox.`)],
    end.holds.length > 0 && [h("h2", {}, "What stops this end"), list(end.holds)],
    end.findings.length > 0 && [h("h2", {}, "Open nonconformances"), list(end.findings)],
    h("h2", {}, "Drawing"), end.capacity && h("p", {}, end.capacity), drawing(end.drawing),
    h("h2", {}, "Limits"), h("dl", { class: "facts" }, end.limits.map((l) => h("div", {}, h("dt", {}, l.what), h("dd", {}, l.says)))),
    end.signed.length > 0 && [h("h2", {}, "Signed for"), list(end.signed)]);
}

// found is the finding that counts at each stud: the packet's, and what was entered
// on this tablet since.
export async function found(end) {
  const out = new Map();
  for (const f of end.design?.faces ?? []) for (const r of f.rows) for (const c of r.cells) if (c) out.set(c.mark, { outcome: c.outcome, detail: c.detail, found: c.found });
  const packet = await store.get("meta", "packet");
  for (const e of await store.entriesOf(end.name)) {
    // What arrived before the packet was taken is in the packet, with what came after it.
    const newer = e.state === "queued" || (["stored", "aside"].includes(e.state) && e.answer.arrived_at > packet.taken_at);
    if (e.kind === "collar" && e.design === end.design?.id && newer) {
      out.set(e.mark, { ...out.get(e.mark), outcome: e.outcome, detail: `${outcomeOf(e.outcome).words}, entered on this tablet, ${e.state}`, here: true });
    }
  }
  return out;
}
