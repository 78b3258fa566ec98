// Everything that was entered, on the disk of the tablet. A promise of this module is kept when the transaction
// is complete with durability 'strict', and the screen says 'kept' no sooner.
import { newId } from "./events.js";

const NAME = "wearline-entry";
const VERSION = 1;
let opened = null;

export class StoreError extends Error {
  constructor(message, { full = false, cause } = {}) {
    super(message, { cause });
    this.name = "StoreError";
    this.full = full;
  }
}

function describe(error) {
  // A full disk below the browser's own quota comes as an unknown error that names the file system's reason.
  if (error?.name === "QuotaExceededError" || /NO_SPACE|no space|quota/i.test(error?.message ?? "")) {
    return new StoreError("This tablet is full. The last entry is not kept.", { full: true, cause: error });
  }
  return new StoreError(`The tablet did not keep it: ${error?.message || error?.name || "no reason given"}`, { cause: error });
}

export function openStore() {
  opened ??= new Promise((resolve, reject) => {
    if (!globalThis.indexedDB) {
      reject(new StoreError("This browser has no database for pages: nothing can be kept here."));
      return;
    }
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      const database = request.result;
      database.createObjectStore("queue", { keyPath: "id" }).createIndex("seq", "seq");
      database.createObjectStore("kept", { keyPath: "id" }).createIndex("draft", "draft");
      database.createObjectStore("photos", { keyPath: "id" });
      database.createObjectStore("refusals", { keyPath: "id" });
      database.createObjectStore("meta");
      database.createObjectStore("cache");
    };
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close();
      // A disk that failed closes the database under the page: the next entry opens it anew.
      request.result.onclose = () => { opened = null; };
      resolve(request.result);
    };
    request.onerror = () => reject(describe(request.error));
  });
  opened.catch(() => { opened = null; });
  return opened;
}

const answerOf = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

async function newTransaction(stores, mode) {
  const options = mode === "readwrite" ? { durability: "strict" } : undefined;
  try {
    return (await openStore()).transaction(stores, mode, options);
  } catch (error) {
    if (error?.name !== "InvalidStateError") throw error instanceof StoreError ? error : describe(error);
    opened = null;
    return (await openStore()).transaction(stores, mode, options);
  }
}

// Run `work` in one transaction; the result counts only once the transaction is complete.
async function transact(stores, mode, work) {
  const transaction = await newTransaction(stores, mode);
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(describe(transaction.error));
    transaction.onerror = () => {};
  });
  let result;
  try {
    result = await work(...stores.map((name) => transaction.objectStore(name)));
  } catch (error) {
    try { transaction.abort(); } catch { /* it has ended by itself */ }
    done.catch(() => {});
    // A transaction that the browser ended says why better than the request that fell with it.
    throw error instanceof StoreError ? error : describe(transaction.error ?? error);
  }
  await done;
  return result;
}

export const getMeta = (key) => transact(["meta"], "readonly", (meta) => answerOf(meta.get(key)));
export const setMeta = (key, value) => transact(["meta"], "readwrite", (meta) => answerOf(meta.put(value, key)));
export const getCache = (key) => transact(["cache"], "readonly", (cache) => answerOf(cache.get(key)));
export const setCache = (key, value) => transact(["cache"], "readwrite", (cache) => answerOf(cache.put(value, key)));

export async function tabletId() {
  return transact(["meta"], "readwrite", async (meta) => {
    const known = await answerOf(meta.get("tablet"));
    if (known) return known;
    const made = newId();
    await answerOf(meta.put(made, "tablet"));
    return made;
  });
}

// Append events: number, time and queue entry in one transaction. The time never runs backwards on one tablet,
// so that the order of the events is the order in which they were entered even if its clock is set back.
export async function append(parts, blobs = []) {
  return transact(["meta", "queue", "photos"], "readwrite", async (meta, queue, photos) => {
    const tablet = await answerOf(meta.get("tablet"));
    const by = (await answerOf(meta.get("by"))) ?? "";
    let seq = (await answerOf(meta.get("seq"))) ?? 0;
    let last = (await answerOf(meta.get("last"))) ?? 0;
    const events = parts.map((part) => {
      seq += 1;
      last = Math.max(Date.now(), last + 1);
      return { id: newId(), tablet, seq, at: new Date(last).toISOString(), by, place: "", field: "", ...part };
    });
    for (const [index, event] of events.entries()) {
      queue.add(event);
      if (blobs[index]) photos.add({ id: event.id, draft: event.draft, place: event.place, blob: blobs[index], sent: 0 });
    }
    meta.put(seq, "seq");
    await answerOf(meta.put(last, "last"));
    return events;
  });
}

export const queued = () => transact(["queue"], "readonly", (queue) => answerOf(queue.index("seq").getAll()));

export const eventsOf = (draft) => transact(["queue", "kept"], "readonly", async (queue, kept) => {
  const [mine, others] = await Promise.all([answerOf(queue.getAll()), answerOf(kept.index("draft").getAll(draft))]);
  const all = new Map(others.map((event) => [event.id, event]));
  for (const event of mine) if (event.draft === draft) all.set(event.id, event);
  return [...all.values()];
});

export const draftsHere = () => transact(["queue", "kept"], "readonly", async (queue, kept) => {
  const [mine, others] = await Promise.all([answerOf(queue.getAll()), answerOf(kept.getAll())]);
  const drafts = new Map();
  for (const event of [...others, ...mine]) {
    if (!drafts.has(event.draft)) drafts.set(event.draft, new Map());
    drafts.get(event.draft).set(event.id, event);
  }
  return [...drafts].map(([id, events]) => ({ id, events: [...events.values()] }));
});

// The server has stored or already knew these: out of the queue and into the mirror, in one transaction.
export const acknowledge = (ids) => transact(["queue", "kept", "refusals"], "readwrite", async (queue, kept, refusals) => {
  for (const id of ids) {
    const event = await answerOf(queue.get(id));
    if (!event) continue;
    kept.put(event);
    queue.delete(id);
    refusals.delete(id);
  }
});

export const refuse = (items) => transact(["refusals"], "readwrite", async (refusals) => {
  for (const { id, error } of items) await answerOf(refusals.put({ id, error }));
});
export const refusals = () => transact(["refusals"], "readonly", (store) => answerOf(store.getAll()));
export const forgetRefusals = () => transact(["refusals"], "readwrite", (store) => answerOf(store.clear()));

export const mirror = (events) => transact(["queue", "kept"], "readwrite", async (queue, kept) => {
  for (const event of events) if (!(await answerOf(queue.getKey(event.id)))) kept.put(event);
});

export const photosOf = (draft) => transact(["photos"], "readonly", async (photos) =>
  (await answerOf(photos.getAll())).filter((photo) => photo.draft === draft));
export const photosToSend = () => transact(["photos"], "readonly", async (photos) =>
  (await answerOf(photos.getAll())).filter((photo) => !photo.sent));
export const photoSent = (id) => transact(["photos"], "readwrite", async (photos) => {
  const photo = await answerOf(photos.get(id));
  if (photo) await answerOf(photos.put({ ...photo, sent: 1 }));
});
// Room on a full tablet: pictures that the server has are kept there.
export const dropSentPhotos = () => transact(["photos"], "readwrite", async (photos) => {
  const sent = (await answerOf(photos.getAll())).filter((photo) => photo.sent);
  for (const photo of sent) photos.delete(photo.id);
  return sent.length;
});
