// One draft on this tablet: its events, their fold, and what is judged from them.
import { catalogue, limitsFor } from "./catalogue.js";
import { axleOf, designOf, foldEvents, placesOf, standing } from "./events.js";
import { gaugeUncertainty, judgeEnd } from "./judging.js";
import { keyOf, stepsInOrder } from "./order.js";
import { readEvent } from "./reading_text.js";
import * as store from "./store.js";
import { ask, count, sync } from "./sync.js";

export const otherTabs = new BroadcastChannel("wearline-entry");

export class Draft {
  constructor(id) {
    this.id = id;
    this.listeners = new Set();
    this.server = null;
    this.live = null;
  }

  static async load(id) {
    const draft = new Draft(id);
    await draft.reload();
    return draft;
  }

  async reload() {
    // What was added while the disk was being read stays: events are only ever added.
    const found = await store.eventsOf(this.id);
    const known = new Set(found.map((event) => event.id));
    this.events = [...found, ...(this.events ?? []).filter((event) => !known.has(event.id))];
    this.refused = new Map((await store.refusals()).map((item) => [item.id, item.error]));
    this.server = (await store.getCache(`draft:${this.id}`)) ?? null;
    this.refold();
  }

  refold() {
    // An end that the server has refused is none yet; the reason is shown until it is sent again.
    const ends = this.events.filter((event) => event.kind === "finish" && this.refused.has(event.id));
    this.endRefused = ends.length ? this.refused.get(ends.at(-1).id) : null;
    this.state = foldEvents(this.events.filter((event) => !ends.includes(event)));
    this.places = placesOf(this.state);
    this.steps = stepsInOrder(this.state, catalogue());
    this.judged = new Map(["", ...this.places].map((place) => [place, this.judgePlace(place)]));
    for (const listener of this.listeners) listener(this);
  }

  get vehicle() { return this.state.start?.value.vehicle ?? {}; }
  get gauges() { return this.state.facts.gauges?.value ?? {}; }
  limits(place) { return limitsFor(designOf(this.state, place)); }
  isDrum(place) { return axleOf(this.state, place)?.brake === "drum"; }

  reading(place, name, spot = "") {
    const field = catalogue().fields[name];
    const events = standing(this.state, place, name, spot);
    if (!events.length || !field) return null;
    return readEvent(events[0], name, field);
  }

  judgePlace(place) {
    const found = [];
    for (const [slot, events] of this.state.current) {
      const [kind, at, name, spot] = JSON.parse(slot);
      const field = catalogue().fields[name];
      if (kind !== "reading" || at !== place || !field) continue;
      found.push({ field: name, spot, reading: readEvent(events[0], name, field) });
    }
    return judgeEnd(found, catalogue(), this.limits(place), {
      combination: this.vehicle.kind === "combination",
      gaugeU: (name, kind) => gaugeUncertainty(this.gauges, name, kind),
    });
  }

  // Verdict of one reading: the server's where it has seen this very state, else the tablet's own.
  verdict(place, name, spot = "") {
    const own = this.judged.get(place)?.end[name]?.[spot] ?? null;
    const answer = this.live?.key === this.key ? this.live.judgement : null;
    const end = answer?.wheel_ends?.find((each) => each.at === place);
    const theirs = end?.readings.find((each) => each.check === name && each.spot === spot);
    if (!own || !theirs) return own;
    return { ...own, verdict: theirs.verdict === "not taken" ? own.verdict : theirs.verdict, because: theirs.reason || own.because, from: "server" };
  }

  get key() { return this.events.length ? `${this.events.length}:${this.events.at(-1).id}` : ""; }

  counts(place) {
    const steps = this.steps.filter((step) => step.place === place);
    const taken = steps.filter((step) => standing(this.state, step.place, step.field, step.spot).length);
    const by = { beyond: new Set(), undecided: new Set(), void: new Set(), within: new Set() };
    for (const step of taken) by[this.verdict(step.place, step.field, step.spot)?.verdict]?.add(step.field);
    return { all: steps.length, taken: taken.length, beyond: by.beyond.size, undecided: by.undecided.size,
      void: by.void.size, within: by.within.size };
  }

  isTaken(step) { return standing(this.state, step.place, step.field, step.spot).length > 0; }

  followUps(place) {
    const own = this.judged.get(place)?.follow ?? { necessary: {}, needless: {}, void: {} };
    const answer = this.live?.key === this.key ? this.live.judgement : null;
    const end = answer?.wheel_ends?.find((each) => each.at === place);
    if (!end) return own;
    const theirs = { necessary: {}, needless: {}, void: {} };
    for (const item of end.followups ?? []) if (theirs[item.kind] && !(item.done && item.kind === "necessary")) theirs[item.kind][item.check] = item.because;
    return theirs;
  }

  isNeedless(step) {
    const follow = this.followUps(step.place);
    return step.check in follow.needless || step.field in follow.void;
  }

  nextOpen(after = null, within = () => true) {
    const from = after ? this.steps.findIndex((step) => keyOf(step) === keyOf(after)) : -1;
    const rest = [...this.steps.slice(from + 1), ...this.steps.slice(0, Math.max(from, 0))];
    return rest.find((step) => !this.isTaken(step) && !this.isNeedless(step) && !this.isDrum(step.place) && within(step)) ?? null;
  }

  // On the disk first, then on the screen, then on its way.
  async add(parts, blobs = []) {
    const events = await store.append(parts.map((part) => ({ draft: this.id, ...part })), blobs);
    this.events.push(...events);
    this.refold();
    otherTabs.postMessage({ draft: this.id });
    await count();
    sync();
    this.askServer();
    return events;
  }

  // The running judgement of everything here, the unsent part included.
  askServer() {
    clearTimeout(this.timer);
    if (!navigator.onLine) return;
    this.timer = setTimeout(async () => {
      const key = this.key;
      try {
        const unsent = (await store.queued()).filter((event) => event.draft === this.id);
        const answer = await ask(`/api/1/drafts/${encodeURIComponent(this.id)}/judge`, { body: { events: unsent }, timeout: 8000 });
        if (key !== this.key) return;
        this.live = { key, judgement: answer.judgement ?? (answer.wheel_ends ? answer : null), next: answer.next ?? [], missing: answer.missing ?? {} };
        for (const listener of this.listeners) listener(this);
      } catch { /* no server: the judgement of the tablet stands */ }
    }, 150);
  }
}
