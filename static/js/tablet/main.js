// The tablet's page: routes between its screens, keeps the line of counts at the
// head, and sees that the page itself is there without signal.
import { button, h, link, say, show, begin } from "./dom.js";
import * as outbox from "./outbox.js";
import * as reserve from "./reserve.js";
import * as store from "./store.js";
import { age, clockText } from "./rules.js";
import * as shift from "./shift.js";
import * as end from "./end.js";
import * as studs from "./studs.js";
import * as survey from "./survey.js";
import * as forms from "./forms.js";
import * as checks from "./checks.js";
import * as pour from "./pour.js";
import * as photo from "./photo.js";

const doc = document.documentElement;
const status = document.getElementById("t-status");

// What the browser promises about keeping the store.
const keeping = { worker: "", persisted: "", room: "", refused: "" };

// room warns in time, anew with every drawing of the head.
async function room() {
  const { usage, quota } = (await navigator.storage?.estimate?.().catch(() => null)) ?? {};
  const mb = quota ? Math.floor((quota - usage) / 1048576) : Infinity;
  keeping.room = reserve.short() ? "Room is short on this tablet: what is typed still finds some, pictures do not. Send now, and delete other files."
    : mb < 200 || usage / quota > 0.8 ? `Room for about ${Math.max(0, mb)} MB is left on this tablet: send now, and make room.` : "";
}

// What the head is made of stays where it is, so that no tap falls on what was just
// drawn anew; only words, counts and the way to sign in change.
const count = (label, id) => h("span", { class: "t-count", id }, h("strong", {}, "–"), ` ${label}`);
const counts = { queued: count("queued", "n-queued"), sent: count("sent", "n-sent"), refused: count("refused", "n-refused"), aside: count("kept aside", "n-aside") };
const contactLine = h("p", { class: "small t-contact" });
const warnings = h("div", { class: "t-warnings" });
const signIn = link("Sign in", "#", { class: "button go", hidden: true });
const sendNow = button("Send now", () => outbox.send(), { class: "go", id: "send" });
const ground = button("Night", theme);
status.replaceChildren(h("div", { class: "t-counts" }, Object.values(counts)), contactLine, warnings, h("nav", { class: "t-ways", "aria-label": "Tablet" }, link("Shift", "#/"), link("Outbox", "#/outbox"), signIn, sendNow, ground));

async function head() {
  await room();
  const c = await outbox.counts();
  const contact = await store.get("meta", "contact");
  const s = outbox.state;
  for (const [k, e] of Object.entries(counts)) e.querySelector("strong").textContent = String(c[k]);
  contactLine.textContent = `${s.busy ? "Sending…" : contact ? `Last contact ${age(contact)}.` : "No contact yet."} ${keeping.refused}`;
  const said = [s.problem && c.queued > 0 ? s.problem : "", s.other, s.stranger, keeping.room, c.oldest && Date.now() - Date.parse(c.oldest) > 864e5 ? `The oldest queued entry is from ${clockText(c.oldest)}: find signal and send.` : ""].filter(Boolean);
  if (said.join("\n") !== [...warnings.children].map((p) => p.textContent).join("\n")) warnings.replaceChildren(...said.map((text) => h("p", { class: "t-warn" }, text)));
  signIn.href = `/login?next=${encodeURIComponent(location.pathname + location.search + location.hash)}`;
  signIn.hidden = !s.signIn;
  sendNow.hidden = s.signIn;
  ground.textContent = doc.dataset.tablet === "night" ? "Sun" : "Night";
}

function theme() {
  doc.dataset.tablet = doc.dataset.tablet === "night" ? "sun" : "night";
  localStorage.setItem("tablet-ground", doc.dataset.tablet);
  head();
}

// One drawing of the head at a time, the last one wins.
let drawing = Promise.resolve();
const redraw = () => { drawing = drawing.then(head, head); };

async function showOutbox() {
  const all = (await store.entries()).reverse();
  const group = (title, id, rows, extra) => h("section", { "aria-labelledby": `g-${id}` }, h("h2", { id: `g-${id}` }, `${title}: ${rows.length}`),
    rows.length > 0 && h("ul", { class: "bare-list t-entries" }, rows.map((e) => h("li", { "data-entry": e.id },
      h("p", {}, h("strong", {}, `${e.end}: ${e.label}`), ` ${clockText(e.made)}`),
      e.answer?.reason && h("p", {}, e.answer.reason),
      e.answer?.fields?.length > 0 && h("ul", {}, e.answer.fields.map((f) => h("li", {}, `${f.field.replaceAll("_", " ")}${f.typed ? ` "${f.typed}"` : ""}: ${f.reason}`))),
      e.answer?.differs && h("p", {}, `Differs: ${e.answer.differs}.`),
      e.answer?.clock_wrong && h("p", {}, `This tablet's clock was wrong: entered ${clockText(e.made)}, counted as ${clockText(e.answer.captured_at)}, arrived ${clockText(e.answer.arrived_at)}.`),
      extra?.(e)))));
  const of = (state) => all.filter((e) => e.state === state);
  show("Outbox", h("h1", {}, "Outbox"),
    h("p", {}, "Nothing leaves this list before the server has answered for it."),
    keepingView(),
    group("Queued", "queued", of("queued")),
    group("Refused", "refused", of("refused"), (e) => h("p", { class: "t-ways" }, link("Enter it anew", `#/end/${e.end}`),
      button("Entered anew", async () => { await store.change(e.id, { state: "replaced" }); route(); }),
      button("Hand to the engineer as it is", async () => { await outbox.handOver(e); route(); }))),
    group("Kept aside for the engineer", "aside", of("aside")),
    group("On record", "stored", of("stored").slice(0, 100)),
    group("Replaced", "replaced", of("replaced")),
    button("Save what is unsent as a file", saveFile));
}

// saveFile is the last resort of a tablet that finds no signal.
async function saveFile() {
  const unsent = (await store.entries()).filter((e) => e.state === "queued" || e.state === "refused");
  const url = URL.createObjectURL(new Blob([`[${unsent.map((e) => e.raw).join(",\n")}]`], { type: "application/json" }));
  h("a", { href: url, download: `unsent-${outbox.stamp().slice(0, 10)}.json` }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
  say(`${unsent.length} entries saved as text. Pictures stay on the tablet.`);
}

export const keepingView = () => h("ul", { class: "bare-list t-keeping", id: "keeping" }, [keeping.worker, keeping.persisted, keeping.room].filter(Boolean).map((t) => h("li", {}, t)));

const screens = [
  [/^#?\/?$/, () => shift.show(keepingView)],
  [/^#\/choose$/, () => shift.choose()],
  [/^#\/line\/(\d+)([NF])$/, (m) => shift.line(Number(m[1]), m[2])],
  [/^#\/outbox$/, showOutbox],
  [/^#\/end\/([^/]+)$/, (m) => end.show(m[1])],
  [/^#\/end\/([^/]+)\/studs$/, (m) => end.here(m[1], studs.map)],
  [/^#\/end\/([^/]+)\/stud\/([^/]+)$/, (m) => end.here(m[1], studs.sheet, m[2])],
  [/^#\/end\/([^/]+)\/survey$/, (m) => end.here(m[1], survey.start)],
  [/^#\/end\/([^/]+)\/survey\/(\d+)$/, (m) => end.here(m[1], survey.place, Number(m[2]))],
  [/^#\/end\/([^/]+)\/survey\/hole\/(\d+)$/, (m) => end.here(m[1], survey.hole, Number(m[2]))],
  [/^#\/end\/([^/]+)\/survey\/parts$/, (m) => end.here(m[1], survey.parts)],
  [/^#\/end\/([^/]+)\/cleaning$/, (m) => end.here(m[1], forms.cleaning)],
  [/^#\/end\/([^/]+)\/check\/([a-z_]+)$/, (m) => end.here(m[1], forms.check, m[2])],
  [/^#\/end\/([^/]+)\/shift\/([a-z_]+)$/, (m) => end.here(m[1], checks.show, m[2])],
  [/^#\/end\/([^/]+)\/nonconformance$/, (m) => end.here(m[1], forms.nonconformance)],
  [/^#\/end\/([^/]+)\/pour$/, (m) => end.here(m[1], pour.start)],
  [/^#\/end\/([^/]+)\/pour\/batch\/(\d+)$/, (m) => end.here(m[1], pour.batch, Number(m[2]))],
  [/^#\/end\/([^/]+)\/pour\/set\/(\d+)$/, (m) => end.here(m[1], pour.set, Number(m[2]))],
  [/^#\/end\/([^/]+)\/photo$/, (m) => end.here(m[1], photo.take)],
];

// One screen is drawn at a time, so that a slow one does not cover the next.
let routing = Promise.resolve();
export const route = () => (routing = routing.then(open, open));

async function open() {
  const address = decodeURIComponent(location.hash);
  for (const [pattern, draw] of screens) {
    const m = pattern.exec(address);
    if (!m) continue;
    try {
      await draw(m);
    } catch (error) {
      console.error(error);
      show("Problem", h("h1", {}, "This screen did not open"), h("p", {}, String(error.message ?? error)), link("Shift", "#/"));
    }
    if (decodeURIComponent(location.hash) === address) document.body.dataset.ready = address || "#/";
    return;
  }
  location.hash = "#/";
}

async function keep() {
  if (!("serviceWorker" in navigator)) {
    keeping.worker = "This page cannot be kept for work without signal: the address is not secure (https).";
    return;
  }
  try {
    const reg = await navigator.serviceWorker.register("/tablet-worker.js", { scope: `${store.root}/tablet` });
    const offer = (worker) => {
      if (!worker || !navigator.serviceWorker.controller) return;
      keeping.worker = "A newer version of this page is ready. What is on the tablet stays.";
      document.getElementById("t-update")?.remove();
      document.querySelector(".t-head").append(h("p", { id: "t-update" }, keeping.worker, " ", button("Use it now", () => worker.postMessage("now"))));
      document.body.dataset.update = "ready";
    };
    const watch = (worker) => worker?.addEventListener("statechange", () => { if (worker.state === "installed") offer(worker); });
    offer(reg.waiting);
    watch(reg.installing);
    reg.addEventListener("updatefound", () => watch(reg.installing));
    let reloads = Boolean(navigator.serviceWorker.controller);
    navigator.serviceWorker.addEventListener("controllerchange", () => { if (reloads) location.reload(); reloads = true; });
    await navigator.serviceWorker.ready;
    keeping.worker = "This page opens without signal.";
    document.body.dataset.offline = "ready";
  } catch {
    keeping.worker = navigator.serviceWorker.controller ? "This page opens without signal." : "This page could not be kept for work without signal. Open it again with signal.";
    if (navigator.serviceWorker.controller) document.body.dataset.offline = "ready";
  }
}

async function persist() {
  if (!navigator.storage?.persist) {
    keeping.persisted = "This browser does not say whether it keeps what is stored. Send often.";
    return;
  }
  const yes = await navigator.storage.persisted() || await navigator.storage.persist();
  keeping.persisted = yes ? "The browser keeps what is stored here." : "The browser may clear what is stored here when room is short: put the page on the home screen, and send often.";
  keeping.refused = yes ? "" : "Storage is not promised: send often.";
}

doc.dataset.tablet = localStorage.getItem("tablet-ground") ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "night" : "sun");

// A label's address opens its end. The one who scans stands before it.
const at = /\/tablet\/at\/([^/]+)$/.exec(location.pathname)?.[1] ?? new URLSearchParams(location.search).get("end");
if (at) {
  const name = decodeURIComponent(at);
  await store.put("meta", { end: name, how: "its label was scanned" }, "here");
  history.replaceState(null, "", `${store.root}/tablet#/end/${encodeURIComponent(name)}`);
}

addEventListener("hashchange", async () => { await route(); begin(); });
// What fails unseen is said: nobody may believe that something was kept which was not.
addEventListener("unhandledrejection", (e) => say(store.plainly(e.reason), "bad"));
addEventListener("outbox", redraw);
// Once there is nothing to send any more, there may be room again.
addEventListener("sent", async () => { if (reserve.short() && await reserve.fill()) redraw(); });
addEventListener("online", () => outbox.send());
document.addEventListener("visibilitychange", () => { if (!document.hidden) outbox.send(); });
setInterval(() => { redraw(); if (!document.hidden && !outbox.state.signIn) outbox.counts().then((c) => { if (c.queued) outbox.send(); }); }, 30000);
await store.prune();
await route();
redraw();
await Promise.all([keep(), persist(), reserve.fill()]);
const shown = document.getElementById("keeping");
shown?.replaceWith(keepingView());
redraw();
outbox.send();
