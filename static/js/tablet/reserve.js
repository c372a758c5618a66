// Room kept free for what is typed. What a browser says of the room that is left may
// be a figure far above what it will grant, so the tablet holds some megabytes itself:
// when a write finds no room they are given up for it, and it is said that room is
// short while there is still some.
import { openDB } from "../../vendor/idb-8.0.4/idb.js";

const SIZE = 16 * 1048576;
const NAME = `endcast-${document.body.dataset.code}-reserve`;
let held = null; // null: not tried yet

const open = () => openDB(NAME, 1, { upgrade: (db) => { db.createObjectStore("reserve"); } });

// short reports that the reserve could not be laid aside, or was given up.
export const short = () => held === false;

export const full = (error) => [error?.name, error?.inner?.name, error?.cause?.name].includes("QuotaExceededError") || /quota/i.test(error?.message ?? "");

// fill lays the reserve aside where it is not there yet.
export async function fill() {
  let db;
  try {
    db = await open();
    if (await db.count("reserve") === 0) {
      const bytes = new Uint8Array(SIZE);
      for (let i = 0; i < SIZE; i += 65536) crypto.getRandomValues(bytes.subarray(i, i + 65536)); // what is all alike takes no room
      await db.put("reserve", bytes, "reserve");
    }
    held = true;
  } catch (error) {
    if (!full(error)) console.error(error);
    held = false;
  } finally {
    db?.close();
  }
  return held;
}

// release gives the reserve up; true where there was one.
async function release() {
  const db = await open();
  try {
    const had = await db.count("reserve") > 0;
    if (had) await db.clear("reserve");
    held = false;
    return had;
  } finally {
    db.close();
  }
}

// writing carries a write out, on the reserve where there is no room otherwise.
export async function writing(write) {
  try {
    return await write();
  } catch (error) {
    if (!full(error) || !await release().catch(() => false)) throw error;
    dispatchEvent(new Event("outbox"));
    return write();
  }
}
