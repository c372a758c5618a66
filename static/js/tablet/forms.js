// Records that are forms: cleaning, checks, pours, nonconformances.
import { choice, field, h, link, say, show, moveFrom } from "./dom.js";
import { head } from "./end.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";

export const local = (d) => outbox.stamp(d).slice(0, 16);
// moment turns what a box for date and time holds into a time with its offset.
export const moment = (text) => (text ? outbox.stamp(new Date(text)) : "");

// form keeps what is typed as a draft, so that a screen left in a hurry comes back.
export async function form(end, name, title, children, make) {
  const key = `${name} ${end.name}`;
  const why = h("p", { class: "why", role: "alert", id: "why" });
  const f = h("form", { id: "record-form", class: "field-form", oninput: keep, onchange: keep, onsubmit: send }, children, why,
    h("p", { class: "t-bottom t-ways" }, h("button", { type: "submit", class: "go", id: "record" }, "Record"), link("Back", `#/end/${end.name}`)));
  const was = await store.draft(key);
  for (const [n, v] of was ?? []) {
    for (const box of f.querySelectorAll(`[name="${CSS.escape(n)}"]`)) {
      if (box.type === "checkbox" || box.type === "radio") box.checked = box.checked || box.value === v;
      else box.value = v;
    }
  }
  let kept = Promise.resolve();
  // A draft that finds no room is said at once; what stands in the boxes stays there.
  function keep() { kept = store.keepDraft(key, [...new FormData(f)]).catch((error) => { why.textContent = store.plainly(error); }); }
  async function send(ev) {
    ev.preventDefault();
    const was = location.hash;
    await kept;
    const data = new FormData(f);
    const entry = make((n) => String(data.get(n) ?? "").trim(), data);
    if (typeof entry === "string") { why.textContent = entry; return; }
    why.textContent = "";
    try {
      await outbox.add({ end, draft: key, ...entry });
    } catch (error) {
      why.textContent = store.plainly(error);
      return;
    }
    say(`${title} recorded.`);
    outbox.send();
    moveFrom(was, `#/end/${end.name}`);
  }
  show(title, head(end, title), f);
}

// only leaves out what is empty.
export const only = (o) => Object.fromEntries(Object.entries(o).filter(([, v]) => v !== "" && v !== false && v !== undefined));

export async function cleaning(end) {
  const p = await store.get("meta", "packet");
  const now = new Date();
  await form(end, "cleaning", "Cleaning", [
    choice("Method", "method", p.methods), h("div", { class: "pair" }, field("Cleaning began", "from", { type: "datetime-local", value: local(new Date(now - 36e5)) }), field("Cleaning ended", "to", { type: "datetime-local", value: local(now) })),
    h("label", { class: "tick wide" }, h("input", { type: "checkbox", name: "solvent", value: "yes" }), h("span", {}, "Solvent first")),
    end.cleaning.map((z) => h("fieldset", { class: "zone" }, h("legend", {}, z.title), h("p", { class: "small" }, `Asked: ${z.asked}. Last: ${z.last}.`),
      choice("Grade reached", z.zone, [{ value: "", label: "Not this time" }, ...p.grades], ""), choice("Flash rust", `${z.zone}_rust`, ["none", "light", "heavy"].map((v) => ({ value: v, label: v })), "none"))),
    h("div", { class: "quad" }, field("Steel", "steel", { inputmode: "decimal" }, p.degree), field("Air", "air", { inputmode: "decimal" }, p.degree), field("Dew point", "dew_point", { inputmode: "decimal" }, p.degree), field("Humidity", "humidity", { inputmode: "decimal" }, "%")),
    field("Note", "note", { rows: 2 }),
  ], (v) => {
    const zones = end.cleaning.filter((z) => v(z.zone)).map((z) => ({ zone: z.zone, grade: v(z.zone), rust: v(`${z.zone}_rust`) || "none" }));
    if (!v("method")) return "Choose a method.";
    if (!zones.length) return "Choose the grade reached in at least one zone.";
    return { kind: "cleaning", label: `cleaning, ${zones.map((z) => z.grade).join(", ")}`,
      body: { ...only({ method: v("method"), from: moment(v("from")), to: moment(v("to")), solvent: v("solvent") === "yes", steel: v("steel"), air: v("air"), dew_point: v("dew_point"), humidity: v("humidity"), note: v("note") }), zones } };
  });
}

export async function check(end, subject) {
  const p = await store.get("meta", "packet");
  const c = p.checks.find((x) => x.subject === subject);
  if (!c) throw new Error("This check is not on the tablet.");
  await form(end, `check ${subject}`, c.title, [
    c.caution && h("p", { class: "caution" }, c.caution),
    c.look?.length > 0 && h("fieldset", { class: "tiles" }, h("legend", {}, "Looked at"), h("div", { class: "row" }, c.look.map((l, i) => h("label", { class: "tick" }, h("input", { type: "checkbox", name: "look", value: l }), h("span", {}, l))))),
    c.outcomes.length > 1 && choice("Finding", "outcome", c.outcomes), field(subject === "note" ? "Note" : "What it rests on", "note", { rows: 3 }),
  ], (v, data) => {
    const facts = data.getAll("look").map(String);
    const outcome = c.outcomes.length > 1 ? v("outcome") : c.outcomes[0].value;
    if (!outcome) return "Choose a finding.";
    if (!facts.length && !v("note")) return "Say what was looked at.";
    return { kind: "inspection", label: `${c.title.toLowerCase()}, ${outcome.replaceAll("_", " ")}`, body: { subject, outcome, ...(facts.length ? { facts } : {}), ...only({ note: v("note") }) } };
  });
}

export async function nonconformance(end) {
  const p = await store.get("meta", "packet");
  await form(end, "nonconformance", "Nonconformance", [
    field("Requirement: document, clause, value", "requirement", { rows: 2 }), field("Found, with its value", "found", { rows: 2 }), field("What was done at once", "containment", { rows: 2 }),
    choice("Proposed", "proposed", [{ value: "", label: "Nothing" }, { value: "use_as_is", label: "Use as is" }, { value: "repair", label: "Repair" }, { value: "rework", label: "Rework" }, { value: "reject", label: "Reject" }], ""),
    h("fieldset", { class: "tiles many" }, h("legend", {}, "Stops these steps"), h("div", { class: "row" }, p.steps.map((s) => h("label", { class: "tick" }, h("input", { type: "checkbox", name: "stops", value: s.value }), h("span", {}, s.label))))),
    h("label", { class: "tick wide" }, h("input", { type: "checkbox", name: "critical", value: "yes" }), h("span", {}, "Critical: somebody could be hurt, or the structure cannot be trusted. Stop, clear the area and call the owner's engineer now.")),
  ], (v, data) => {
    if (!v("requirement") || !v("found")) return "Name the requirement and what was found.";
    return { kind: "nonconformance", label: `nonconformance: ${v("found").slice(0, 60)}`,
      body: { ...only({ requirement: v("requirement"), found: v("found"), containment: v("containment"), proposed: v("proposed"), critical: v("critical") === "yes" }), stops: data.getAll("stops").map(String) } };
  });
}
