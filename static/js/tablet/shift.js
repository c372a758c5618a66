// The shift: what the tablet took along, how old it is, and where its holder stands.
import { button, choice, h, link, say, show as screen } from "./dom.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";
import { age, clockText, count } from "./rules.js";

const sides = { N: "near", F: "far" };
const lineTitle = (e) => `Span ${e.span}, ${sides[e.side]} end`;

export async function show(keeping) {
  const packet = await store.get("meta", "packet");
  const who = await store.get("meta", "who");
  const ends = await store.all("ends");
  if (!packet) {
    screen("Shift", h("h1", {}, "Shift"), h("p", {}, "Nothing is taken along yet. Choose the ends of the shift while there is signal."), link("Choose ends", "#/choose", { class: "button go" }), keeping());
    return;
  }
  const ready = document.body.dataset.offline === "ready";
  const lines = new Map();
  for (const e of ends) {
    const key = `${e.span}${e.side}`;
    if (!lines.has(key)) lines.set(key, { key, ends: [], title: lineTitle(e), reading: e.reading });
    lines.get(key).ends.push(e);
  }
  const loud = ends.flatMap((e) => e.warnings.map((w) => `${e.name}: ${w}`));
  screen("Shift", h("h1", {}, "Shift"),
    h("p", { class: "t-packet", id: "packet" }, h("strong", {}, count(packet.count, "end")), `, taken ${clockText(packet.taken_at)}, ${age(packet.taken_at)}, by ${who.name}. `,
      ready ? h("strong", {}, "Ready to work without signal.") : "Wait: the page itself is still being kept."),
    loud.length > 0 && h("section", { class: "banner", "aria-label": "Warnings" }, h("h2", {}, "Before you begin"), h("ul", {}, loud.map((w) => h("li", {}, w)))),
    h("h2", {}, "Where are you?"), h("p", {}, "Span and side first, then the girder. A label opens its end at once."),
    h("div", { class: "t-cards" }, [...lines.values()].sort((a, b) => a.key.localeCompare(b.key, undefined, { numeric: true })).map((l) =>
      h("a", { class: "place-card", href: `#/line/${l.key}` }, h("strong", {}, l.title), h("span", { class: "field-reading" }, l.reading), h("span", {}, count(l.ends.length, "end"))))),
    h("p", { class: "t-ways" }, link("Choose ends", "#/choose"), button("Take them anew", () => take(ends.map((e) => e.name)))),
    keeping());
}

export async function line(span, side) {
  const ends = (await store.all("ends")).filter((e) => e.span === span && e.side === side).sort((a, b) => a.girder - b.girder);
  if (ends.length === 0) return screen("Line", h("h1", {}, "No end of this line is on the tablet"), link("Shift", "#/"));
  screen(lineTitle(ends[0]), h("h1", {}, h("span", { class: "field-name" }, lineTitle(ends[0])), " ", h("span", { class: "field-reading" }, ends[0].reading)),
    h("h2", {}, "Which girder?"),
    h("div", { class: "t-cards" }, ends.map((e) => h("a", { class: "place-card", href: `#/end/${e.name}` }, h("strong", { class: "field-name" }, `Girder ${e.girder}`), h("span", { class: "field-reading" }, `${e.name}, ${e.reading}`), h("span", {}, e.step)))),
    link("Shift", "#/"));
}

// take fetches the packet. What is on its way stays as it is.
export async function take(names) {
  say("Taking the ends along…", "busy");
  try {
    const who = await outbox.greet();
    const answer = await fetch(`${store.root}/tablet/packet?ends=${encodeURIComponent(names.join(","))}`, { headers: { Accept: "application/json" }, cache: "no-store" });
    if (!answer.ok) throw new Error((await answer.json()).message);
    await store.replaceEnds(await answer.json(), who);
    outbox.state.stranger = "";
    say(`${count(names.length, "end")} taken along.`);
    if (location.hash === "#/" || location.hash === "") dispatchEvent(new Event("hashchange"));
    else location.hash = "#/";
  } catch (error) {
    say(error.name === "QuotaExceededError" ? "Not taken: there is no room left on this tablet. What was there before is still there." : `Not taken: ${error.message}`, "bad");
  }
  dispatchEvent(new Event("outbox"));
}

export async function choose() {
  let all;
  try {
    const answer = await fetch(`${store.root}/tablet/choice`, { headers: { Accept: "application/json" }, cache: "no-store" });
    if (!answer.ok) throw new Error((await answer.json()).message);
    all = await answer.json();
  } catch (error) {
    screen("Choose", h("h1", {}, "Ends of the shift"), h("p", {}, `The list needs signal. ${error.message}`), link("Shift", "#/"));
    return;
  }
  const held = new Set((await store.all("ends")).map((e) => e.name));
  const uniq = (values) => [...new Set(values)];
  const pick = (label, name, options) => h("div", { class: "fld" }, h("label", { for: `c-${name}` }, label), h("select", { id: `c-${name}`, name, onchange: filter },
    h("option", { value: "" }, "All"), options.map((o) => h("option", { value: o.value }, o.label))));
  const rows = all.ends.map((e) => {
    const box = h("input", { type: "checkbox", name: "end", value: e.name, checked: held.has(e.name), onchange: tally });
    return { e, box, row: h("label", { class: "tick wide" }, box, h("span", {}, h("strong", {}, e.name), ` ${e.reading}`, h("span", { class: "small" }, `${e.step}${e.says ? `: ${e.says}` : ""}`))) };
  });
  const total = h("strong", { id: "chosen" });
  const takes = button("Take them along", () => take(rows.filter((r) => r.box.checked).map((r) => r.e.name)), { class: "go", id: "take" });
  const form = h("form", { onsubmit: (ev) => ev.preventDefault() },
    h("div", { class: "trio" },
      pick("Support", "support", uniq(all.ends.map((e) => e.support)).map((v) => ({ value: v, label: v }))),
      pick("Window", "window", all.windows.map((w) => ({ value: w.kind, label: w.says })).concat([{ value: all.open, label: "open access, no window needed" }])),
      pick("Step", "step", uniq(all.ends.map((e) => e.step_code)).map((v) => ({ value: v, label: all.ends.find((e) => e.step_code === v).step || "closed" })))),
    h("p", { class: "t-ways" }, button("All shown", () => { for (const r of rows) if (!r.row.hidden) r.box.checked = true; tally(); }, { id: "all" }),
      button("None", () => { for (const r of rows) r.box.checked = false; tally(); }), button("Those that wait for me", () => { for (const r of rows) if (r.e.mine) r.box.checked = true; tally(); })),
    h("div", { class: "t-list" }, rows.map((r) => r.row)), h("p", { class: "t-bottom t-ways" }, total, takes));
  function tally() {
    const n = rows.filter((r) => r.box.checked).length;
    total.textContent = `${n} chosen`;
    takes.disabled = n === 0;
  }
  function filter() {
    const want = (name) => form.elements[name].value;
    for (const r of rows) {
      r.row.hidden = Boolean((want("support") && r.e.support !== want("support")) || (want("window") && r.e.access !== want("window")) || (want("step") && r.e.step_code !== want("step")));
    }
  }
  screen("Choose", h("h1", {}, "Ends of the shift"), form);
  tally();
}
