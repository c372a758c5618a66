// Checks of the shift that have figures: the test studs of a welder, a core through
// the deck, the form before the pour.
import { choice, dial, field, h, list, sentence, tick } from "./dom.js";
import { form, only } from "./forms.js";
import * as store from "./store.js";

const finding = choice.bind(null, "Finding", "outcome", [{ value: "accepted", label: "Accepted" }, { value: "not_accepted", label: "Not accepted" }]);
const number = (label, name, value, unit) => field(label, name, { inputmode: "decimal", value }, unit);
const zone = (title, ...children) => h("fieldset", { class: "zone" }, h("legend", {}, title), children);

export async function show(end, kind) {
  const c = end.shift?.find((x) => x.kind === kind);
  const draw = { test_stud: testStuds, deck_core: core, form_check: formCheck }[kind];
  if (!c || !draw) throw new Error("This check is not on the tablet. Take the ends anew.");
  const packet = await store.get("meta", "packet");
  const head = [c.caution && h("p", { class: "caution" }, c.caution), h("section", { class: "t-asked", "aria-label": "Asked" }, h("h2", {}, "Asked"), list(c.asked.map(sentence))),
    c.against.length > 0 && h("section", { class: "banner", "aria-label": "Falls short" }, h("h2", {}, "As last recorded it falls short"), list(c.against.map(sentence)))];
  await draw(end, c, packet, head);
}

// lacks says what an acceptance lacks, so that it is mended where it is seen and
// not when the entry comes back.
function lacks(v, wants) {
  if (!v("outcome")) return "Choose a finding.";
  if (v("outcome") === "not_accepted") return v("note") ? "" : "Say in the note why it is not accepted.";
  return wants.find(([ok]) => !ok)?.[1] ?? "";
}

async function testStuds(end, c, p, head) {
  const last = (await store.get("meta", "weld-set")) ?? {};
  const welder = (await store.get("meta", "welder"))?.welder ?? last.welder ?? "";
  await form(end, "test studs", c.title, [head,
    zone("Which studs", choice("Position", "position", [{ value: "vertical", label: "Upright web" }, { value: "flat", label: "Flat" }, { value: "overhead", label: "Overhead" }], "vertical"),
      h("div", { class: "pair" }, field("Welder", "welder", { value: welder }), number("Stud diameter", "diameter", end.design?.diameter ?? "", p.unit)), field("Welded on", "set_up", { value: last.set_up ?? "" })),
    zone("Setting", h("div", { class: "quad" }, field("Equipment", "equipment", { value: last.equipment ?? "" }), number("Current", "current_a", last.current_a ?? "", "A"), number("Time", "time_s", last.time_s ?? "", "s"),
      number("Lift", "lift", last.lift ?? "", p.unit), number("Plunge", "plunge", last.plunge ?? "", p.unit)), tick("Repeated after a change of the setting", "after_change")),
    zone("What you saw", tick("Collar full all round, each of them", "collar_full"), tick("One of them cracked or tore", "cracked"),
      h("div", { class: "pair" }, number("Studs tested", "tested", p.test_stud.studs), number("Bent by", "bend_deg", p.test_stud.bend, "°")), dial("bend_clock", "Bent toward, as you face the metal")),
    finding(""), field("Note", "note", { rows: 2 }),
  ], (v) => {
    const studs = Number(v("tested"));
    const why = lacks(v, [[v("collar_full") === "yes", "A test stud whose collar is not full all round is not accepted."], [v("cracked") !== "yes", "A test stud that cracked is not accepted."],
      [studs >= p.test_stud.studs, `At least ${p.test_stud.studs} test studs are asked.`], [Number(v("bend_deg")) >= p.test_stud.bend - 1, `A test stud is bent ${p.test_stud.bend} degrees.`]]);
    if (why) return why;
    if (!v("welder")) return "Say who welded: the test holds for that person.";
    if (!v("diameter") || !Number.isInteger(studs) || studs < 1 || !v("bend_deg")) return "Give the diameter, the number of studs tested and the bend.";
    const set = only({ equipment: v("equipment"), current_a: v("current_a"), time_s: v("time_s"), lift: v("lift"), plunge: v("plunge"), set_up: v("set_up") });
    store.put("meta", { ...set, welder: v("welder") }, "weld-set");
    return { kind: "test_stud", label: `test studs of ${v("welder")}, ${v("outcome").replaceAll("_", " ")}`,
      body: { position: v("position"), welder: v("welder"), diameter: v("diameter"), ...set, tested: studs, bend_deg: v("bend_deg"), ...only({ bend_clock: Number(v("bend_clock")) || "", collar_full: v("collar_full") === "yes",
        cracked: v("cracked") === "yes", after_change: v("after_change") === "yes", note: v("note") }), outcome: v("outcome") } };
  });
}

async function core(end, c, p, head) {
  const mine = (await store.entriesOf(end.name)).filter((e) => e.kind === "deck_core").map((e) => JSON.parse(e.raw).body);
  const next = Math.max(end.core_next ?? 1, ...mine.map((b) => b.number + 1));
  await form(end, "core", c.title, [head,
    zone("Which core",
      h("div", { class: "quad" }, number("Number", "number", next), number("From the girder end", "along", "", p.unit), number("From the web", "across", "", p.unit), number("Diameter", "diameter", mine.at(-1)?.diameter ?? "", p.unit),
        number("Depth", "depth", mine.at(-1)?.depth ?? "", p.unit)),
      choice("Side of the web, looking ahead along the bridge", "side", [{ value: "-", label: "Left" }, { value: "0", label: "Over the web" }, { value: "+", label: "Right" }], "")),
    zone("Bars", tick("Bars located before drilling", "bars_located"), tick("A bar was cut", "bar_cut"), field("Who gave leave to cut it, when", "leave")),
    zone("The hole", tick("Open and clean, through to the form", "open_clean")),
    finding(""), field("Note", "note", { rows: 2 }),
  ], (v) => {
    const n = Number(v("number"));
    const why = lacks(v, [[v("bars_located") === "yes", "A core drilled before the bars were located is not accepted."], [v("open_clean") === "yes", "A core that is not open and clean is not accepted."],
      [v("bar_cut") !== "yes" || v("leave"), "A bar was cut: say who gave leave, or do not accept it and raise a nonconformance."]]);
    if (why) return why;
    if (!Number.isInteger(n) || n < 1 || !v("along") || !v("side") || (v("side") !== "0" && !v("across")) || !v("diameter")) return "Give the number, the place with its side of the web, and the diameter of the core.";
    const across = { "-": `-${v("across")}`, 0: "0", "+": v("across") }[v("side")];
    return { kind: "deck_core", label: `core ${n}, ${v("outcome").replaceAll("_", " ")}`,
      body: { number: n, along: v("along"), across, diameter: v("diameter"), ...only({ depth: v("depth"), bars_located: v("bars_located") === "yes", bar_cut: v("bar_cut") === "yes", leave: v("leave"),
        open_clean: v("open_clean") === "yes", note: v("note") }), outcome: v("outcome") } };
  });
}

async function formCheck(end, c, p, head) {
  await form(end, "form", c.title, [head,
    choice("Face", "face", [{ value: "L", label: "Left" }, { value: "R", label: "Right" }, { value: "B", label: "Both in one" }], ""),
    zone("Measured", h("div", { class: "quad" }, number("Width along the web", "width", "", p.unit), number("Height", "height", "", p.unit), number("Web to form", "thickness", "", p.unit), number("Cover to the studs, least", "cover", "", p.unit))),
    zone("Tried", tick("Braced for the full head", "braced"), tick("Seals tight, at the flange and along the web", "seals_tight"), tick("Bearing isolated, free to move", "bearing_free"), tick("Feed and vent holes clear", "holes_clear")),
    zone("Water test", number("Held for", "water_test_min", "", "min"), choice("Under the water test", "leaked", [{ value: "no", label: "No leak" }, { value: "yes", label: "It leaked" }], "")),
    finding(""), field("Note", "note", { rows: 2 }),
  ], (v) => {
    const yes = (name) => v(name) === "yes";
    const why = lacks(v, [[yes("braced"), "A form that is not braced for the full head is not accepted."], [yes("seals_tight"), "A form whose seals are not tight is not accepted."],
      [yes("bearing_free"), "A form that casts the bearing in is not accepted."], [yes("holes_clear"), "A form whose feed and vent holes are not clear is not accepted."],
      [!yes("leaked"), "A form that leaked under the water test is not accepted."], [v("width") && v("height") && v("thickness") && v("cover"), "Measure the form: width, height, from the web, and the least cover."]]);
    if (why) return why;
    if (!v("face")) return "Choose the face.";
    if (v("water_test_min") && !v("leaked")) return "Say whether it leaked under the water test.";
    return { kind: "form_check", label: `form, ${{ L: "left face", R: "right face", B: "both faces" }[v("face")]}, ${v("outcome").replaceAll("_", " ")}`,
      body: { face: v("face"), ...only({ width: v("width"), height: v("height"), thickness: v("thickness"), cover: v("cover"), braced: yes("braced"), seals_tight: yes("seals_tight"), water_test_min: v("water_test_min"),
        bearing_free: yes("bearing_free"), holes_clear: yes("holes_clear"), note: v("note") }), ...(v("leaked") ? { leaked: yes("leaked") } : {}), outcome: v("outcome") } };
  });
}
