// Sends what is in the queue, in order, and fetches what others entered. An event leaves the queue only when the
// server says that it has it; everything else (no network, a login that has run out, a refusal, a server that
// dies in the middle) leaves the queue as it is.
import * as store from "./store.js";

const BATCH = 200;
const BYTES = 900_000;
const LONGEST_WAIT = 60_000;

export const status = { state: "waiting", waiting: null, refused: 0, photos: 0, message: "", lastSent: null };
const listeners = new Set();
export const onStatus = (listener) => { listeners.add(listener); listener(status); };
const tell = (change) => { Object.assign(status, change); for (const listener of listeners) listener(status); };

let wait = 1000;
let timer = 0;
let running = null;
let again = false;

function headers() {
  const token = document.querySelector('meta[name="csrf-token"]')?.content
    || /(?:^|; )csrf=([^;]+)/.exec(document.cookie)?.[1] || "";
  return token ? { "X-CSRF-Token": decodeURIComponent(token) } : {};
}

export class Refused extends Error {
  constructor(status, answer) {
    super(answer?.error?.what || `The server answered ${status}`);
    this.status = status;
    this.answer = answer;
  }
}

export async function ask(path, { body, form, timeout = 20_000 } = {}) {
  const stop = new AbortController();
  const clock = setTimeout(() => stop.abort(), timeout);
  try {
    const answer = await fetch(path, {
      method: body || form ? "POST" : "GET",
      headers: { Accept: "application/json", ...(body ? { "Content-Type": "application/json" } : {}), ...headers() },
      body: form ?? (body ? JSON.stringify(body) : undefined),
      credentials: "same-origin", cache: "no-store", redirect: "error", signal: stop.signal,
    });
    const json = (answer.headers.get("content-type") ?? "").includes("json") ? await answer.json() : null;
    if (!answer.ok || json === null) throw new Refused(answer.status, json);
    return json;
  } finally {
    clearTimeout(clock);
  }
}

export async function count() {
  const [queue, refused, photos] = await Promise.all([store.queued(), store.refusals(), store.photosToSend()]);
  tell({ waiting: queue.length, refused: refused.length, photos: photos.length });
  return status;
}

function nextBatch(events, refusedIds) {
  const batch = [];
  let bytes = 0;
  for (const event of events) {
    if (refusedIds.has(event.id)) continue;
    bytes += JSON.stringify(event).length * 2;
    if (batch.length && (batch.length >= BATCH || bytes > BYTES)) break;
    batch.push(event);
  }
  return batch;
}

async function sendEvents() {
  for (;;) {
    const refusedIds = new Set((await store.refusals()).map((item) => item.id));
    const batch = nextBatch(await store.queued(), refusedIds);
    if (!batch.length) return;
    tell({ state: "sending" });
    const answer = await ask("/api/1/events", { body: { events: batch } });
    const sent = new Set(batch.map((event) => event.id));
    const settled = [...(answer.stored ?? []), ...(answer.known ?? [])].filter((id) => sent.has(id));
    const refused = (answer.refused ?? []).filter((item) => sent.has(item.id));
    if (settled.length) await store.acknowledge(settled);
    if (refused.length) {
      await store.refuse(refused);
      for (const id of new Set(batch.filter((event) => refused.some((item) => item.id === event.id)).map((event) => event.draft))) {
        dispatchEvent(new CustomEvent("wearline-draft", { detail: { id } }));
      }
    }
    await count();
    if (!settled.length && !refused.length) throw new Error("The server named none of the entries sent to it");
    tell({ lastSent: new Date().toISOString() });
  }
}

async function sendPhotos() {
  const queue = new Set((await store.queued()).map((event) => event.id));
  for (const photo of await store.photosToSend()) {
    if (queue.has(photo.id)) continue;
    const form = new FormData();
    form.set("event", photo.id);
    form.set("draft", photo.draft);
    form.set("place", photo.place);
    form.set("file", photo.blob, `${photo.id}.jpg`);
    try {
      await ask("/api/1/photos", { form, timeout: 120_000 });
      await store.photoSent(photo.id);
    } catch (error) {
      if (!(error instanceof Refused) || error.status >= 500 || [401, 403, 429].includes(error.status)) throw error;
      tell({ message: `A photograph was refused: ${error.message}. It stays on this tablet.` });
    }
    await count();
  }
}

async function fetchOthers() {
  const answer = await ask("/api/1/drafts");
  const drafts = answer.drafts ?? (Array.isArray(answer) ? answer : []);
  await store.setCache("drafts", drafts);
  dispatchEvent(new Event("wearline-drafts"));
  const here = new Set((await store.draftsHere()).map((draft) => draft.id));
  for (const id of here) await fetchDraft(id).catch((error) => { if (error.status !== 404) throw error; });
}

export async function fetchDraft(id) {
  const answer = await ask(`/api/1/drafts/${encodeURIComponent(id)}`);
  if (answer.events?.length) await store.mirror(answer.events);
  await store.setCache(`draft:${id}`, { ...answer, events: undefined, fetched: new Date().toISOString() });
  dispatchEvent(new CustomEvent("wearline-draft", { detail: { id, answer } }));
  return answer;
}

function explain(error) {
  if (error instanceof Refused) {
    if ([401, 403].includes(error.status)) {
      return { state: "login", message: "The login has run out. Go on working: everything is kept here and is sent after the next login." };
    }
    return { state: "refused", message: `The server did not take it (${error.status}): ${error.message}. Everything is kept here.` };
  }
  return { state: "offline", message: "" };
}

async function run() {
  await count();
  try {
    await sendEvents();
    await sendPhotos();
    await fetchOthers();
    wait = 1000;
    await count();
    tell({ state: "reached", message: status.refused ? `${status.refused} refused by the server, kept here.` : "" });
    schedule(30_000);
  } catch (error) {
    await count();
    tell(explain(error));
    wait = Math.min(wait * 2, LONGEST_WAIT);
    schedule(wait);
  }
}

function schedule(milliseconds) {
  clearTimeout(timer);
  timer = setTimeout(() => sync(), milliseconds);
}

export function sync() {
  if (running) {
    again = true;
    return running;
  }
  const work = async () => {
    do {
      again = false;
      await run();
    } while (again);
  };
  // One tab sends at a time; where there are no locks, sending twice does no harm: ids are stored once.
  running = (navigator.locks ? navigator.locks.request("wearline-send", work) : work()).finally(() => { running = null; });
  return running;
}

export async function sendRefusedAgain() {
  await store.forgetRefusals();
  return sync();
}

export function start() {
  addEventListener("online", () => { wait = 1000; sync(); });
  addEventListener("offline", () => tell({ state: "offline", message: "" }));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) sync(); });
  return sync();
}

// Everything that is not on the server yet, as a file that `wearline keep` reads.
export async function exportQueue() {
  const events = await store.queued();
  const text = JSON.stringify({ schema: "wearline.events/1", events }, null, 1);
  const day = new Date().toISOString().slice(0, 16).replaceAll(":", "").replace("T", "-");
  return { name: `wearline-not-sent-${day}.json`, count: events.length, blob: new Blob([text], { type: "application/json" }) };
}
