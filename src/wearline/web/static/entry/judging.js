// A small judgement on the tablet, by the same guarded rule as wearline.assessment.verdicts: enough to tell
// within from beyond and undecided while nobody else can be asked. The server's judgement goes before it.
import { findUnit, nearestFloat } from "./quantity.js";

const EQUALITY = 1e-9;
const LEGAL = ["law", "roadside"];
const CORNERS = ["LT", "LB", "TT", "TB"];
const SEVERITY = { within: 0, undecided: 1, beyond: 2, void: 3 };
const SENSIBLE_REPEATS = 10;

// erfc by its Taylor series near zero and by the continued fraction of the tail further out; both converge to
// the last digits of a double.
export function erfc(x) {
  if (x < 0) return 2 - erfc(-x);
  if (x < 2) {
    let term = x;
    let sum = x;
    for (let n = 1; n < 80; n += 1) {
      term *= -(x * x) / n;
      sum += term / (2 * n + 1);
    }
    return 1 - (2 / Math.sqrt(Math.PI)) * sum;
  }
  if (x > 27) return 0;
  let tail = 0;
  for (let n = 160; n > 0; n -= 1) tail = n / 2 / (x + tail);
  return Math.exp(-x * x) / Math.sqrt(Math.PI) / (x + tail);
}

export const normalDistribution = (z) => 0.5 * erfc(-z * Math.SQRT1_2);

// One-sided normal quantile by bisection on the distribution itself.
export function normalQuantile(probability) {
  let low = -9;
  let high = 9;
  for (let n = 0; n < 80; n += 1) {
    const middle = (low + high) / 2;
    if (normalDistribution(middle) < probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

// Standard uncertainty of a reading: as wearline.assessment.columns.standard_uncertainty.
export function standardUncertainty(field, reading, gaugeU = null) {
  if (field.kind === "COUNT") return 0;
  const typical = gaugeU ?? (field.u_relative
    ? Math.hypot(field.u, field.u_relative * reading.value) : field.u);
  let variance = typical ** 2;
  if (reading.repeats > 1) {
    const byRepeat = (field.u_repeat_share * typical) ** 2;
    variance += byRepeat / reading.repeats - byRepeat;
  }
  const coarse = Math.max(reading.resolution ** 2 - (field.resolution || 0) ** 2, 0) / 12;
  return Math.sqrt(coarse < variance / 4 ? variance : variance + coarse);
}

export function holdAgainst(value, u, limit, decision) {
  const margin = limit.sense === "at least" ? value - limit.value : limit.value - value;
  const slack = EQUALITY * Math.abs(limit.value);
  const beyond = limit.passes_at_limit ? margin < -slack : margin <= slack;
  const pWithin = u === 0 ? (beyond ? 0 : 1) : normalDistribution(margin / u);
  const rule = LEGAL.includes(limit.authority) ? decision.legal : decision.service;
  let verdict = "undecided";
  if (rule === "simple") verdict = beyond ? "beyond" : "within";
  else if (pWithin >= decision.confidence) verdict = "within";
  else if (pWithin <= 1 - decision.confidence) verdict = "beyond";
  return { limit, verdict, pWithin, margin };
}

export function limitsOf(name, spot, limits, combination = false) {
  const wanted = CORNERS.includes(spot) ? "pad_thinnest" : name;
  const found = Object.entries(limits).map(([id, limit]) => ({ id, ...limit })).filter((limit) =>
    limit.field === wanted && (!limit.applies || (limit.applies === "combination") === combination));
  const deciding = found.filter((limit) => limit.consequence !== "note");
  return { deciding: CORNERS.includes(spot) ? deciding.slice(0, 1) : deciding, all: found };
}

function worst(held) {
  const rank = (item) => [SEVERITY[item.verdict], -item.pWithin];
  return held.reduce((best, item) => {
    const [a, b] = [rank(item), rank(best)];
    return a[0] > b[0] || (a[0] === b[0] && a[1] > b[1]) ? item : best;
  });
}

// What would settle an undecided reading: as wearline.assessment.wording.what_settles.
export function whatSettles(margin, u, share, confidence) {
  const wanted = Math.abs(margin) / normalQuantile(confidence);
  if (wanted <= 0) return { kind: "limit" };
  const fixed = u * Math.sqrt(Math.max(1 - share ** 2, 0));
  if (wanted > fixed) {
    const n = Math.ceil((share * u) ** 2 / (wanted ** 2 - fixed ** 2));
    if (n <= SENSIBLE_REPEATS) return { kind: "repeats", n: Math.max(n, 2) };
  }
  return { kind: "gauge", expanded: 2 * wanted };
}

// One measured reading of a field against the limits in force; null where no limit decides.
export function judgeMeasured(name, spot, field, reading, limits, decision, options = {}) {
  const u = standardUncertainty(field, reading, options.gaugeU ?? null);
  const { deciding, all } = limitsOf(name, spot, limits, options.combination);
  const held = deciding.map((limit) => holdAgainst(reading.value, u, limit, decision));
  if (!held.length) return { u, verdict: null, limit: null, all, held };
  const governing = worst(held);
  const settle = governing.verdict === "undecided"
    ? whatSettles(governing.margin, u, field.u_repeat_share, decision.confidence) : null;
  return { u, verdict: governing.verdict, limit: governing.limit, pWithin: governing.pWithin,
    margin: governing.margin, settle, all, held };
}

const WORD_VERDICT = { good: "within", fault: "beyond", look: "undecided", unmeasurable: null };

export const judgeWord = (field, word) => ({ verdict: WORD_VERDICT[field.words[word]] ?? null, meaning: field.words[word] });

// Whether a condition of the catalogue's consequences holds at one wheel end; null where it takes more than
// this place knows (other ends, derived measures), and then the server is asked.
function holds(condition, end) {
  if (condition.other || condition.scope !== "here") return null;
  if (condition.repeatable !== null && condition.repeatable !== undefined) {
    const reading = end[condition.field]?.[""];
    if (!reading?.spread) return false;
    return condition.repeatable ? false : reading.spread > 2 * reading.u;
  }
  if (condition.words.length) {
    const reading = end[condition.field]?.[""];
    return Boolean(reading && condition.words.includes(reading.word));
  }
  if (condition.limit) {
    return Object.values(end).some((spots) => Object.values(spots).some((reading) =>
      reading.held?.some((item) => item.limit.id === condition.limit && item.verdict === condition.verdict)));
  }
  return null;
}

// Checks that become necessary, needless or void at one wheel end, with the reason.
export function followUps(end, consequences) {
  const found = { necessary: {}, needless: {}, void: {} };
  for (const row of consequences) {
    if (row.scope === "vehicle") continue;
    const answers = row.conditions.map((condition) => holds(condition, end));
    const known = answers.filter((answer) => answer !== null);
    const met = row.every ? known.length === answers.length && known.every(Boolean) : known.some(Boolean);
    if (!met) continue;
    for (const kind of Object.keys(found)) for (const name of row[kind]) found[kind][name] ??= row.because;
  }
  for (const name of Object.keys(found.necessary)) delete found.needless[name];
  return found;
}

// The judged readings of one wheel end (or of the vehicle): field -> spot -> reading with its verdict.
export function judgeEnd(readings, catalogue, limits, options = {}) {
  const end = {};
  for (const { field: name, spot, reading } of readings) {
    const field = catalogue.fields[name];
    if (!field || !reading) continue;
    let judged = { ...reading };
    if (reading.kind === "measured") {
      const gaugeU = options.gaugeU?.(reading.gauge, field.kind) ?? null;
      judged = { ...judged, ...judgeMeasured(name, spot, field, reading, limits, catalogue.decision, { ...options, gaugeU }) };
    } else if (reading.kind === "word" && field.words[reading.word]) {
      judged = { ...judged, ...judgeWord(field, reading.word) };
    }
    (end[name] ??= {})[spot] = judged;
  }
  const follow = followUps(end, catalogue.consequences);
  for (const name of Object.keys(follow.void)) {
    for (const judged of Object.values(end[name] ?? {})) {
      if (judged.kind === "measured") Object.assign(judged, { verdict: "void", because: follow.void[name] });
    }
  }
  // Play on a calliper that does not slide freely may be read too small: never 'within' on this evidence.
  if (Object.values(end.slide ?? {}).some((judged) => judged.verdict === "beyond")) {
    for (const name of ["tangential_play", "radial_play"]) {
      for (const judged of Object.values(end[name] ?? {})) {
        if (judged.verdict === "within") {
          Object.assign(judged, { verdict: "undecided", settle: null, because: "the calliper does not slide freely" });
        }
      }
    }
  }
  return { end, follow };
}

export function gaugeUncertainty(gauges, name, kind) {
  const entry = gauges?.[name];
  if (!entry?.u) return null;
  const match = /^[0-9.,/ ]*/.exec(entry.u)[0];
  const unit = findUnit(entry.u.slice(match.length).trim(), kind === "TEMPERATURE" ? "TEMPERATURE_DIFFERENCE" : kind);
  const number = Number(match.trim().replace(",", "."));
  return unit && Number.isFinite(number) ? number * nearestFloat(unit.top, unit.bottom) : null;
}
