// The tablet's own store: the ends of the shift, the entries on their way, the
// pictures that belong to them, and what was begun and not recorded yet.
import { openDB } from "../../vendor/idb-8.0.4/idb.js";
import { full, short, writing } from "./reserve.js";

const body = document.body.dataset;
export const root = body.root;
export const version = body.version;

let opened;
const open = () => (opened ??= openDB(`endcast-${body.code}`, 1, {
  upgrade(db) {
    db.createObjectStore("meta");
    db.createObjectStore("ends", { keyPath: "name" });
    db.createObjectStore("drafts");
    db.createObjectStore("blobs");
    const out = db.createObjectStore("outbox", { keyPath: "id" });
    out.createIndex("seq", "seq", { unique: true });
    out.createIndex("end", "end");
  },
  // Another page of a newer version wants the store: let it.
  blocking: async () => { (await opened)?.close(); opened = undefined; },
}));

export const get = async (store, key) => (await open()).get(store, key);
export const all = async (store) => (await open()).getAll(store);
export const put = (store, value, key) => writing(async () => (await open()).put(store, value, key));
export const drop = async (store, key) => (await open()).delete(store, key);

// plainly is why something could not be kept, in words. Nothing that failed was half
// kept: each write is one transaction.
export function plainly(error) {
  if (full(error)) return "There is no room left on this tablet: it was not recorded, and what you typed is still here. Send what is queued, or delete other files of this tablet, and record again.";
  return `It could not be kept on this tablet, and what you typed is still here: ${error?.message ?? error}`;
}

// replaceEnds exchanges the packet as a whole or not at all.
export async function replaceEnds(packet, who) {
  const tx = (await open()).transaction(["ends", "meta"], "readwrite");
  tx.done.catch(() => {});
  await tx.objectStore("ends").clear();
  for (const end of packet.ends) await tx.objectStore("ends").put(end);
  const { ends, ...rest } = packet;
  await tx.objectStore("meta").put({ ...rest, count: ends.length }, "packet");
  await tx.objectStore("meta").put(who, "who");
  await tx.objectStore("meta").delete("here");
  await tx.done;
}

// What was begun belongs to whoever began it: another person on the same tablet
// does not record it under their own name.
const own = async (key) => `${(await get("meta", "who"))?.user} ${key}`;
export const draft = async (key) => get("drafts", await own(key));
export const keepDraft = async (key, value) => put("drafts", value, await own(key));

// append puts an entry behind all others, with its picture, and takes the draft that
// it was made from away, in one go: whatever happens, one of the two is there, and
// never both. With a mark only that stud is taken out of the draft.
export async function append(entry, blob, key, mark) {
  const draft = key && await own(key);
  // A picture that does not fit is refused; what is typed may use the reserve.
  if (blob && short()) throw new DOMException("no room is left for the picture", "QuotaExceededError");
  const write = () => appendAll(entry, blob, draft, mark);
  await (blob ? write() : writing(write));
  dispatchEvent(new Event("outbox"));
  return entry;
}

async function appendAll(entry, blob, draft, mark) {
  const tx = (await open()).transaction(["outbox", "blobs", "drafts"], "readwrite", { durability: "strict" });
  tx.done.catch(() => {}); // the write that failed says why
  const outbox = tx.objectStore("outbox");
  const last = await outbox.index("seq").openCursor(null, "prev");
  entry.seq = (last?.value.seq ?? 0) + 1;
  await outbox.add(entry);
  if (blob) await tx.objectStore("blobs").put(blob, entry.id);
  if (draft && mark) {
    const { [mark]: gone, ...rest } = (await tx.objectStore("drafts").get(draft)) ?? {};
    await tx.objectStore("drafts").put(rest, draft);
  } else if (draft) await tx.objectStore("drafts").delete(draft);
  await tx.done;
}

export async function change(id, fields, dropBlob = false) {
  await writing(() => changeOne(id, fields, dropBlob));
  dispatchEvent(new Event("outbox"));
}

async function changeOne(id, fields, dropBlob) {
  const tx = (await open()).transaction(["outbox", "blobs"], "readwrite");
  tx.done.catch(() => {});
  const was = await tx.objectStore("outbox").get(id);
  if (was) await tx.objectStore("outbox").put({ ...was, ...fields });
  if (dropBlob) await tx.objectStore("blobs").delete(id);
  await tx.done;
}

export const entries = async () => (await (await open()).getAllFromIndex("outbox", "seq"));
export const entriesOf = async (end) => (await (await open()).getAllFromIndex("outbox", "end", end)).sort((a, b) => a.seq - b.seq);

// prune forgets what the server confirmed weeks ago. What is on its way, refused or
// replaced stays.
export async function prune(days = 30) {
  const tx = (await open()).transaction("outbox", "readwrite");
  for (const e of await tx.store.getAll()) {
    if (["stored", "aside"].includes(e.state) && Date.now() - Date.parse(e.made) > days * 864e5) await tx.store.delete(e.id);
  }
  await tx.done;
}
