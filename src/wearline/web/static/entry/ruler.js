// The limit ruler, alive: a line scaled in the limit's unit, the limit as a stroke with hatching beyond it, and
// the reading as it is typed. A round dot is within, a dot on its corner beyond, an open dot undecided.
import { s } from "./dom.js";
import { differenceIn, toUnit, unitLabel } from "./quantity.js";
import { numberText, probabilityText, t } from "./words.js";

const COVERAGE = 2;
const ROW = 22;
const LABELS = 19;
const FOOT = 24;
const NO_ZERO = ["TEMPERATURE", "TEMPERATURE_DIFFERENCE"];

export function hatch(left, top, right, bottom, step = 6) {
  const height = bottom - top;
  const lines = [];
  for (let x = left - height + step; x < right; x += step) {
    const [x1, y1] = x < left ? [left, bottom - (left - x)] : [x, bottom];
    const [x2, y2] = x + height > right ? [right, bottom - (right - x)] : [x + height, top];
    if (x2 > x1) lines.push(`M${x1.toFixed(1)} ${y1.toFixed(1)}L${x2.toFixed(1)} ${y2.toFixed(1)}`);
  }
  return lines.join("");
}

function ticks(low, high, wanted) {
  const raw = (high - low) / wanted;
  const magnitude = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 2.5, 5, 10].map((factor) => factor * magnitude).find((each) => each >= raw * (1 - 1e-9));
  const found = [];
  for (let n = Math.ceil(low / step - 1e-9); n <= Math.floor(high / step + 1e-9); n += 1) found.push(n * step);
  const places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return { found, places: Math.abs(step * 10 ** places - Math.round(step * 10 ** places)) > 1e-6 ? places + 1 : places };
}

// `anchors` are usual values (new pad, new rotor): they hold the line still while a number is being typed.
function scaleOf({ kind, limits, governing, readings, anchors, unit }) {
  const numbers = readings.flatMap(({ value, u }) => [value - COVERAGE * u, value, value + COVERAGE * u]);
  const all = [...numbers, ...limits.map((limit) => limit.value), ...anchors].map((value) => toUnit(value, unit, kind));
  let [low, high] = all.length ? [Math.min(...all), Math.max(...all)] : [0, 1];
  const lowest = low;
  if (kind === "COUNT") high = Math.max(high, low + 4);
  const span = high - low || Math.abs(high) || 1;
  [low, high] = [low - 0.06 * span, high + 0.06 * span];
  if (governing) {
    const at = toUnit(governing.value, unit, kind);
    const room = (governing.sense === "at most" && !numbers.length && !anchors.length ? 0.5 : 0.16) * (high - low);
    if (governing.sense === "at least") low = Math.min(low, at - room);
    else high = Math.max(high, at + room);
  }
  const fromZero = governing?.sense === "at most" && !NO_ZERO.includes(kind);
  if (lowest >= 0 && (low < 0 || fromZero || lowest <= 0.5 * Math.max(...all))) low = 0;
  return { low, high };
}

function limitLabels(limits, governing, x, width) {
  const rows = [[], []];
  const placed = [];
  const order = [...limits].sort((a, b) => (b.id === governing?.id) - (a.id === governing?.id));
  for (const limit of order) {
    const text = limit.published + (["law", "roadside"].includes(limit.authority) ? ` ${limit.authority}` : "");
    const half = 3.9 * text.length + 4;
    const centre = Math.min(Math.max(x(limit.value), half), width - half);
    const row = rows.findIndex((spans) => spans.every(([from, to]) => centre + half < from || centre - half > to));
    if (row < 0) continue;
    rows[row].push([centre - half, centre + half]);
    placed.push({ centre, text, row, governs: limit.id === governing?.id });
  }
  return { placed, rows: rows[1].length ? 2 : 1 };
}

function dot(group, x, y, verdict, hasLimit) {
  const colour = !hasLimit ? "muted" : verdict === "beyond" ? "beyond" : verdict === "within" ? "good" : "ink";
  if (verdict === "beyond") group.append(s("path", { d: `M${x} ${y - 9.5}L${x + 9.5} ${y}L${x} ${y + 9.5}L${x - 9.5} ${y}Z`, class: `f-${colour} halo` }));
  else if (verdict === "within" || !hasLimit) group.append(s("circle", { cx: x, cy: y, r: 7.5, class: `f-${colour} halo` }));
  else group.append(s("circle", { cx: x, cy: y, r: 7, class: `f-paper s-${colour}`, "stroke-width": 2.6 }));
}

export function valueText(value, unit, kind, resolution = 0) {
  const step = resolution ? differenceIn(resolution, unit, kind) : 0.01;
  const decimals = Math.min(4, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)));
  const label = unitLabel(unit, kind);
  return `${numberText(toUnit(value, unit, kind), decimals)}${label ? ` ${label}` : ""}`;
}

// readings: [{value, u, verdict, spot, faint}] in SI; verdict '' while it is being typed and not yet judged.
export function drawRuler(spec, width = 360) {
  const { kind, readings = [], name = "" } = spec;
  const governing = spec.governing ?? null;
  const limits = spec.limits ?? [];
  const unit = governing?.unit ?? spec.unit;
  const anchors = spec.anchors ?? [];
  const { low, high } = scaleOf({ kind, limits, governing, readings, anchors, unit });
  const several = readings.some((reading) => reading.spot);
  const left = several ? 38 : 20;
  const right = width - 44;
  const share = (number) => left + ((number - low) / (high - low)) * (right - left);
  const x = (value) => share(toUnit(value, unit, kind));
  const labels = limitLabels(limits, governing, x, width);
  const top = LABELS * labels.rows;
  const pitch = readings.length > 1 ? ROW - 3 : ROW;
  const base = top + pitch * Math.max(1, readings.length) + 4;
  const height = base + FOOT;
  const said = describe(spec, unit);
  const svg = s("svg", { viewBox: `0 0 ${width} ${height}`, class: "ruler", role: "img", "aria-label": said });
  if (governing) {
    const at = x(governing.value);
    const [from, to] = governing.sense === "at least" ? [left, at] : [at, right];
    svg.append(s("path", { d: hatch(from, top + 2, to, base), class: "s-beyond", "stroke-width": 1.1 }));
  }
  for (const limit of limits) {
    const at = x(limit.value);
    const governs = limit.id === governing?.id;
    svg.append(s("line", { x1: at, x2: at, y1: top - 2, y2: base + (governs ? 7 : 4), class: governs ? "s-beyond" : "s-muted",
      "stroke-width": governs ? 3 : 1.4, "stroke-dasharray": limit.consequence === "note" ? "3 3" : null }));
    if (!governs && limit.consequence !== "note") {
      const side = limit.sense === "at least" ? -1 : 1;
      for (const step of [4, 9, 14]) svg.append(s("line", { x1: at, y1: top + step + 4, x2: at + side * 6, y2: top + step, class: "s-muted", "stroke-width": 1.2 }));
    }
  }
  for (const label of labels.placed) {
    svg.append(s("text", { x: label.centre, y: top - 6 - (label.row ? LABELS : 0), class: label.governs ? "f-beyond strong" : "f-muted",
      "text-anchor": "middle", "font-size": 13 }, label.text));
  }
  svg.append(s("line", { x1: left, x2: right, y1: base, y2: base, class: "s-ink", "stroke-width": 1.6, "stroke-dasharray": readings.length ? null : "5 5" }));
  const marks = ticks(low, high, width > 420 ? 6 : 4);
  for (const tick of marks.found) {
    svg.append(s("line", { x1: share(tick), x2: share(tick), y1: base, y2: base + 6, class: "s-ink", "stroke-width": 1.2 }));
    svg.append(s("text", { x: share(tick), y: base + 20, class: "f-muted", "text-anchor": "middle", "font-size": 12.5 }, numberText(tick, marks.places)));
  }
  svg.append(s("text", { x: right + 8, y: base + 5, class: "f-muted", "font-size": 13 }, unitLabel(unit, kind)));
  readings.forEach((reading, row) => svg.append(drawReading(reading, x, top + pitch * (row + 0.5) + 1, { left, right, governing })));
  return svg;
}

function drawReading(reading, x, y, { left, right, governing }) {
  const group = s("g", { class: reading.faint ? "faint" : null });
  if (reading.spot) group.append(s("text", { x: left - 8, y: y + 4.5, class: reading.active ? "f-ink strong" : "f-muted", "text-anchor": "end", "font-size": 13 }, reading.spot));
  if (reading.value === null) return group;
  if (reading.verdict === "void") {
    const middle = (left + right) / 2;
    group.append(s("rect", { x: middle - 26, y: y - 10, width: 52, height: 20, class: "f-paper" }),
      s("text", { x: middle, y: y + 5, class: "f-ink", "text-anchor": "middle", "font-size": 15, "font-style": "italic" }, t("void")));
    return group;
  }
  const [from, at, to] = [-1, 0, 1].map((side) => Math.min(Math.max(x(reading.value + side * COVERAGE * reading.u), left), right));
  const colour = !governing ? "muted" : reading.verdict === "beyond" ? "beyond" : reading.verdict === "within" ? "good" : "ink";
  if (to - from > 1) {
    group.append(s("line", { x1: from, x2: to, y1: y, y2: y, class: "s-paper", "stroke-width": 6 }),
      s("path", { d: `M${from} ${y}H${to}M${from} ${y - 6}V${y + 6}M${to} ${y - 6}V${y + 6}`, class: `s-${colour}`, "stroke-width": 2.2 }));
  }
  dot(group, at, y, reading.verdict, Boolean(governing));
  return group;
}

function describe({ readings = [], limits = [], governing, kind, name }, unit) {
  const parts = [t("Limit ruler: {name}.", { name })];
  for (const reading of readings) {
    if (reading.value === null) continue;
    const p = probabilityText(reading.pWithin);
    parts.push(`${reading.spot ? `${reading.spot}: ` : ""}${valueText(reading.value, unit, kind, reading.resolution)}, ${reading.verdict || t("no limit")}${p ? `, ${t("probability within")} ${p}` : ""}.`);
  }
  if (governing) parts.push(t("Limit {sense} {text}, {status}.", { sense: governing.sense, text: governing.published, status: governing.status }));
  for (const limit of limits) if (limit.id !== governing?.id) parts.push(t("Also shown: {text}.", { text: limit.published }));
  return parts.join(" ");
}

// The same sign in small, beside a wheel or in a list: what is known at a place, in one form.
export function sign(form) {
  const svg = s("svg", { viewBox: "0 0 56 24", class: "sign", "aria-hidden": "true" });
  const stroke = 33;
  svg.append(s("path", { d: hatch(stroke, 4, 55, 19, 5), class: "s-beyond", "stroke-width": 1 }),
    s("line", { x1: 1, x2: 55, y1: 19, y2: 19, class: "s-ink", "stroke-width": 1.4, "stroke-dasharray": form === "nothing" ? "4 3" : null }),
    s("line", { x1: stroke, x2: stroke, y1: 1, y2: 23, class: "s-beyond", "stroke-width": 2.4 }));
  if (form === "within") svg.append(s("circle", { cx: 16, cy: 11, r: 5.5, class: "f-good" }));
  else if (form === "undecided") svg.append(s("circle", { cx: stroke, cy: 11, r: 5.5, class: "f-paper s-ink", "stroke-width": 2.2 }));
  else if (form === "beyond") svg.append(s("path", { d: "M46 3.5L53.5 11L46 18.5L38.5 11Z", class: "f-beyond halo" }));
  else if (form === "void") svg.append(s("text", { x: 16, y: 14, class: "f-ink", "font-size": 12, "font-style": "italic", "text-anchor": "middle" }, "void"));
  return svg;
}

export const formOf = (verdict) => ({ within: "within", beyond: "beyond", undecided: "undecided", void: "void" })[verdict] ?? "nothing";
