// Entry events and their fold. A draft is only ever a set of events; its state is the fold of them in the
// order of (at, id). Nothing is overwritten: a correction is a further event.

export function newId() {
  if (globalThis.crypto?.randomUUID) return crypto.randomUUID();
  // Without a secure context there is no randomUUID; getRandomValues is always there (RFC 9562, version 4).
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export const inOrder = (events) =>
  [...events].sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : a.id < b.id ? -1 : a.id > b.id ? 1 : 0));

const CATEGORY = { reading: "reading", cannot: "reading", noticed: "noticed", note: "note", fact: "fact", start: "start" };
const slotOf = (event) => (event.kind === "start" ? JSON.stringify(["start", "", "", ""])
  : JSON.stringify([CATEGORY[event.kind], event.place || "", event.field || "", event.spot || ""]));
const oneSpace = (text) => text.split(/\s+/).filter(Boolean).join(" ");

// What an entry says, without who, when and where: the same from two tablets is no contradiction.
function sameForm(value) {
  if (Array.isArray(value)) return value.map(sameForm);
  if (value && typeof value === "object") return Object.fromEntries(Object.keys(value).sort().map((key) => [key, sameForm(value[key])]));
  return value ?? null;
}
const said = (event) => JSON.stringify([event.kind, typeof event.value === "string" ? oneSpace(event.value) : sameForm(event.value),
  (event.repeats ?? []).map(oneSpace), event.gauge ?? ""]);

// A retraction may itself be taken back by a later one.
function retractedOf(events) {
  const gone = new Set();
  for (const event of [...events].reverse()) if (event.kind === "retract" && !gone.has(event.id)) gone.add(event.refers);
  return gone;
}

const bySeq = (a, b) => a.seq - b.seq || (a.id < b.id ? -1 : 1);
const before = (a, b) => a.at < b.at || (a.at === b.at && a.id < b.id);

// The last entry of each tablet; after a settlement the winner and what came later.
function standingOf(entries, settlements, byId) {
  const last = new Map();
  for (const event of entries) {
    const known = last.get(event.tablet);
    if (!known || bySeq(known, event) < 0) last.set(event.tablet, event);
  }
  const all = inOrder(last.values());
  const settlement = settlements.at(-1);
  if (!settlement) return all;
  const winner = byId.get(settlement.refers);
  const over = settlement.value?.over;
  const later = all.filter((event) => (Array.isArray(over) ? !over.includes(event.id) && event.id !== winner.id : before(settlement, event)));
  return later.some((event) => event.tablet === winner.tablet) ? later : [winner, ...later];
}

// The same fold as the server's: one answer for one set of events, whatever the order in which they came.
export function foldEvents(events) {
  const own = inOrder(new Map(events.map((event) => [event.id, event])).values());
  const gone = retractedOf(own);
  const live = own.filter((event) => !gone.has(event.id));
  const byId = new Map(live.map((event) => [event.id, event]));
  const groups = new Map();
  for (const event of live) {
    if (!CATEGORY[event.kind]) continue;
    const slot = slotOf(event);
    if (!groups.has(slot)) groups.set(slot, []);
    groups.get(slot).push(event);
  }
  const settled = live.filter((event) => event.kind === "settle" && CATEGORY[byId.get(event.refers)?.kind]);
  const draft = { start: null, facts: {}, current: new Map(), groups, contradictions: [], count: own.length,
    photos: live.filter((event) => event.kind === "photo"), finished: live.filter((event) => event.kind === "finish").at(-1) ?? null };
  for (const [slot, entries] of groups) {
    const standing = standingOf(entries, settled.filter((event) => slotOf(byId.get(event.refers)) === slot), byId);
    if (new Set(standing.map(said)).size > 1) draft.contradictions.push({ slot, events: standing });
    draft.current.set(slot, standing);
    const [kind, , name] = JSON.parse(slot);
    if (kind === "start") [draft.start] = standing;
    if (kind === "fact") [draft.facts[name]] = standing;
  }
  return draft;
}

export function standing(draft, place, field, spot = "", kind = "reading") {
  return draft.current.get(JSON.stringify([kind, place, field, spot])) ?? [];
}

export const entriesOf = (draft, place, field, spot = "") => draft.groups.get(JSON.stringify(["reading", place, field, spot])) ?? [];

export const placesOf = (draft) => (draft.start?.value.axles ?? []).flatMap((axle) => [`${axle.id}L`, `${axle.id}R`]);

export function axleOf(draft, place) {
  return (draft.start?.value.axles ?? []).find((axle) => place.slice(0, -1) === axle.id) ?? null;
}

export const designOf = (draft, place) =>
  axleOf(draft, place)?.design || draft.start?.value.vehicle.design || "generic-22.5";

function documentValue(event) {
  if (event.kind === "cannot") return `cannot: ${event.value}`;
  if (event.repeats?.length > 1 || event.gauge) {
    const table = event.repeats?.length > 1 ? { readings: event.repeats } : { value: event.value };
    if (event.gauge) table.gauge = event.gauge;
    return table;
  }
  return event.value;
}

// The draft in the shape of an inspection file. A key on which two tablets disagree is left out until a person
// has settled it, and so is a pad of which a corner is missing.
export function toDocument(draft, fields) {
  const { vehicle = {}, axles = [], taken_on: takenOn } = draft.start?.value ?? {};
  const document = { vehicle, axle: axles, inspection: { taken_on: takenOn }, wheel_end: [] };
  for (const event of Object.values(draft.facts)) {
    if (event.value === null || event.value === "") continue;
    if (event.field === "peer_wear") document.peer_wear_mm_per_10000_km = event.value;
    else document.inspection[event.field] = event.value;
  }
  const open = new Set(draft.contradictions.map((item) => item.slot));
  const ends = new Map();
  const table = (place) => {
    if (place === "") return (document.vehicle_checks ??= {});
    if (!ends.has(place)) ends.set(place, { at: place });
    return ends.get(place);
  };
  for (const [slot, [event]] of draft.current) {
    if (open.has(slot)) continue;
    const [kind, place, name, spot] = JSON.parse(slot);
    if (kind === "start" || kind === "fact") continue;
    if (kind !== "reading") table(place)[kind] = event.value;
    else if (spot) ((table(place)[name] ??= {})[spot] = documentValue(event));
    else table(place)[name] = documentValue(event);
  }
  for (const event of draft.photos) if (event.place) (table(event.place).photographs ??= []).push(event.value.sha256);
  for (const end of ends.values()) {
    for (const [name, value] of Object.entries(end)) {
      const spots = fields[name]?.spots ?? [];
      if (!spots.length || typeof value !== "object") continue;
      if (spots.every((spot) => spot in value)) end[name] = spots.map((spot) => value[spot]);
      else delete end[name];
    }
  }
  document.wheel_end = placesOf(draft).filter((place) => ends.has(place)).map((place) => ends.get(place));
  return document;
}
