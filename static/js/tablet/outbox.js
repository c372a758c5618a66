// Entries on their way to the record. Each has its number from the moment it is
// made; nothing leaves this tablet before the server has answered for that number.
import * as store from "./store.js";

const PIECE = 256 * 1024;
const BATCH = 25;

// state is what the head of the page says of the connection.
export const state = { busy: false, problem: "", signIn: false, other: "", stranger: "" };

const two = (n) => String(n).padStart(2, "0");

// stamp is a moment of this tablet's clock with its offset.
export function stamp(d = new Date()) {
  const off = -d.getTimezoneOffset();
  const sign = off < 0 ? "-" : "+";
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}` +
    `${sign}${two(Math.floor(Math.abs(off) / 60))}:${two(Math.abs(off) % 60)}`;
}

// add makes an entry of what was recorded at an end. The text of an entry is made
// once and sent as it is, however often.
export async function add({ kind, end, body, label, against = {}, blob, captured = new Date(), draft, handOver, mark }) {
  const who = await store.get("meta", "who");
  if (!who) throw new Error("Take a packet first: it says whose entries these are.");
  const packet = await store.get("meta", "packet");
  const clock = await store.get("meta", "clock");
  const entry = {
    format: 1, id: crypto.randomUUID(), by: who.user, kind, end_id: end.id, end: end.name,
    against: {
      taken_at: packet.taken_at, end_version: end.version, sequence: packet.sequence, ...(end.survey ? { survey: end.survey.number } : {}),
      ...(end.design ? { design_id: end.design.id, revision: end.design.revision, studs: end.design.studs } : {}), ...against,
    },
    captured_at: stamp(captured), ...(clock ? { clock_ms: clock.off } : {}), units: packet.units, ...(handOver ? { hand_over: true } : {}), body,
  };
  return store.append({ id: entry.id, state: "queued", by: who.user, byName: who.name, kind, end: end.name, label, mark, outcome: body.outcome, made: captured.toISOString(),
    design: end.design?.id, photo: Boolean(blob), raw: JSON.stringify(entry) }, blob, draft, draft && mark);
}

// handOver sends a refused entry once more, to be kept aside for the engineer.
export async function handOver(old) {
  const entry = { ...JSON.parse(old.raw), id: crypto.randomUUID(), hand_over: true };
  const blob = old.photo ? await store.get("blobs", old.id) : undefined;
  await store.append({ ...old, id: entry.id, state: "queued", answer: undefined, raw: JSON.stringify(entry) }, blob);
  await store.change(old.id, { state: "replaced" });
  send();
}

export async function counts() {
  const out = { queued: 0, sent: 0, refused: 0, aside: 0, photos: 0, oldest: null };
  for (const e of await store.entries()) {
    if (e.state === "queued") {
      out.queued++;
      if (e.photo) out.photos++;
      out.oldest ??= e.made;
    } else if (e.state === "refused") out.refused++;
    else if (e.state === "aside") { out.sent++; out.aside++; } else if (e.state === "stored") out.sent++;
  }
  return out;
}

class Stop extends Error {}

// ask asks the server and turns every way of not getting an answer into one.
async function ask(path, init = {}) {
  let answer;
  try {
    answer = await fetch(store.root + path, { ...init, redirect: "error", cache: "no-store", headers: { Accept: "application/json", ...init.headers } });
  } catch {
    throw new Stop("No connection. Everything stays on this tablet.");
  }
  if (answer.status === 401) {
    state.signIn = true;
    throw new Stop("The session is over. Sign in again; everything stays on this tablet and is sent then.");
  }
  let told = null;
  try { told = await answer.json(); } catch { throw new Stop(`The server gave no readable answer (${answer.status}). It is tried again.`); }
  if (answer.status >= 500 || answer.status === 429) throw new Stop(`The server cannot take it just now (${answer.status}). It is tried again.`);
  return { status: answer.status, told };
}

const post = (path, body, type = "application/json") => ask(path, { method: "POST", body, headers: { "Content-Type": type } });
const batch = (raws) => `{"format":1,"sent_at":${JSON.stringify(stamp())},"entries":[${raws.join(",")}]}`;

// greet learns who is signed in and how far this tablet's clock is off.
export async function greet() {
  const before = Date.now();
  const { status, told } = await ask("/tablet/who");
  if (status !== 200) throw new Stop(told.message ?? `The server refuses (${status}).`);
  const after = Date.now();
  state.signIn = false;
  const holder = await store.get("meta", "who");
  state.stranger = holder && holder.user !== told.user ? `${told.name} is signed in, and what is recorded here counts as ${holder.name}'s. Take the ends anew before you record.` : "";
  await store.put("meta", { off: Math.round((before + after) / 2 - Date.parse(told.now)), at: new Date().toISOString() }, "clock");
  await store.put("meta", new Date().toISOString(), "contact");
  return told;
}

async function settle(answers) {
  let waits = false;
  for (const a of answers) {
    if (["stored", "aside", "refused"].includes(a.state)) await store.change(a.id, { state: a.state, answer: a }, a.state !== "refused");
    else waits = true;
  }
  return waits;
}

async function sendTexts(user) {
  for (;;) {
    const mine = (await store.entries()).filter((e) => e.state === "queued" && e.by === user && !e.photo).slice(0, BATCH);
    if (mine.length === 0) return;
    const { status, told } = await post("/tablet/entries", batch(mine.map((e) => e.raw)));
    if (status !== 200) throw new Stop(told.message || `The server refuses what this tablet sends (${status}).`);
    const known = new Set(mine.map((e) => e.id));
    const answers = told.answers.filter((a) => known.has(a.id));
    if (await settle(answers) || answers.length === 0) throw new Stop("The server could not take all of it just now. It is tried again.");
    calm();
  }
}

async function sendPhoto(e) {
  const blob = await store.get("blobs", e.id);
  const body = JSON.parse(e.raw).body;
  if (!blob) {
    await store.change(e.id, { state: "refused", answer: { reason: "The picture is no longer on this tablet." } });
    return;
  }
  const at = (start) => `/tablet/pieces?entry=${e.id}&sha256=${body.sha256}&size=${body.size}&start=${start}`;
  const refused = async (told) => store.change(e.id, { state: "refused", answer: { reason: told.message || "The server refuses the picture." } });
  let { status, told } = await post(at(0), new Blob([]), "application/octet-stream");
  while (status === 200 && told.have < body.size) {
    ({ status, told } = await post(at(told.have), blob.slice(told.have, told.have + PIECE), "application/octet-stream"));
    calm();
  }
  if (status !== 200) return refused(told);
  ({ status, told } = await post("/tablet/photos", batch([e.raw])));
  if (told.kind === "conflict") throw new Stop(told.message);
  if (status !== 200) return refused(told);
  if (await settle(told.answers)) throw new Stop("The server could not take the picture just now. It is tried again.");
  calm();
}

let fails = 0;
let timer;
const calm = () => { fails = 0; };

// send brings everything on its way, text before pictures, each in its order.
export function send() {
  clearTimeout(timer);
  return navigator.locks.request(`send-${store.root}`, { ifAvailable: true }, async (lock) => {
    if (!lock) return;
    state.busy = true;
    dispatchEvent(new Event("outbox"));
    try {
      const who = await greet();
      // A person who is no longer signed in is waited for, whatever else is sent.
      const queued = (await store.entries()).filter((e) => e.state === "queued");
      const others = queued.filter((e) => e.by !== who.user);
      state.other = others.length ? `${others.length} of ${others[0].byName} wait until ${others[0].byName} signs in here.` : "";
      await sendTexts(who.user);
      for (const e of queued) if (e.photo && e.by === who.user) await sendPhoto(e);
      state.problem = "";
      calm();
    } catch (error) {
      if (!(error instanceof Stop)) console.error(error);
      state.problem = error instanceof Stop ? error.message : "Something failed on this tablet. Everything stays and is tried again.";
      fails++;
    }
    state.busy = false;
    dispatchEvent(new Event("outbox"));
    const left = await counts();
    if (left.queued === 0) dispatchEvent(new Event("sent"));
    if (left.queued > 0 && !state.signIn && state.problem) timer = setTimeout(send, Math.min(30000, 150 * 2 ** Math.min(fails, 8)));
  });
}
