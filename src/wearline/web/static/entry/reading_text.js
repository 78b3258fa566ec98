// From what was typed for a field to a reading, or to what is wrong with it; and from a stored event back.
import { findUnit, parseQuantity, QuantityError, strip, unitLabel } from "./quantity.js";

const ROUNDING = 1e-12;
const SLIPS = { mm: ["thou", "in", "um"], cm: ["mm"], in: ["thou", "mm"], thou: ["mm", "um"], kN: ["daN", "N"], N: ["kN"],
  bar: ["psi", "kPa"], kPa: ["bar", "psi"], kg: ["t"], t: ["kg"], degC: ["degF"] };
const PER_MINUTE = /\s*(?:\/|per\b)\s*min(?:ute)?\.?\s*$/i;
const LOST_PER_MINUTE = ["air_loss_released", "air_loss_applied"];
export const INCH = { LENGTH: "in", FORCE: "lbf", PRESSURE: "psi", TORQUE: "lbf ft", TEMPERATURE: "degF", MASS: "lb", ACCELERATION: "ft/s2" };

const foldWord = (text) => text.replace(/[-_]/g, " ").split(/\s+/).filter(Boolean).join(" ").toLowerCase().replace(/\.+$/, "");

function refuseImpossible(field, quantity) {
  if (!field.possible) return;
  const [low, high] = field.possible;
  const slack = ROUNDING * Math.max(Math.abs(low), Math.abs(high));
  if (quantity.value >= low - slack && quantity.value <= high + slack) return;
  const digits = /^[0-9 .,/+-]*/.exec(strip(quantity.raw))[0].trim();
  let cure = field.cure;
  if (quantity.exactTop < 0n && field.kind !== "TEMPERATURE") cure = "Check the sign";
  else {
    for (const symbol of SLIPS[quantity.unit] ?? []) {
      const unit = findUnit(symbol, field.kind);
      if (!unit) continue;
      try {
        const other = parseQuantity(`${digits} ${unit.label}`, field.kind);
        if (other.value > low && other.value <= high) {
          cure = symbol === "thou" ? `Did the gauge read thousandths of an inch? Write '${digits} thou'`
            : `Was it read in ${unitLabel(symbol, field.kind)}? Write '${digits} ${unit.label}'`;
          break;
        }
      } catch { /* the digits are no number in this unit either */ }
    }
  }
  throw new QuantityError(`${quantity.raw.trim()}: ${field.possible_text} is possible`, field.possible_text, cure);
}

function quantityOf(name, field, text, unit) {
  const bare = LOST_PER_MINUTE.includes(name) ? text.replace(PER_MINUTE, "") : text;
  const quantity = parseQuantity(bare, field.kind, field.kind === "COUNT" ? null : unit);
  refuseImpossible(field, quantity);
  return quantity;
}

// One typed text. The unit that stood beside the box is written behind a bare number, so that the text says
// by itself what was meant.
export function readTyped(name, field, typed, unit) {
  const text = strip(typed);
  if (field.text) return { kind: "text", raw: text, word: text };
  const word = Object.keys(field.words).find((each) => foldWord(each) === foldWord(text));
  if (word) return { kind: "word", word, raw: text };
  if (!field.kind) throw new QuantityError(`'${text}' is none of its words`, Object.keys(field.words).join(", "), "Choose one of the words");
  const quantity = quantityOf(name, field, text, unit);
  const label = findUnit(quantity.unit, field.kind).label;
  const raw = quantity.hasUnit || !label ? text : `${text} ${label}`;
  return { kind: "measured", raw, value: quantity.value, unit: quantity.unit, resolution: quantity.resolution, repeats: 0, all: [quantity.value] };
}

// A stored event as a reading; what this tablet cannot read is said, not hidden.
export function readEvent(event, name, field) {
  if (event.kind === "cannot") return { kind: "cannot", reason: String(event.value), raw: String(event.value), event };
  try {
    const raws = event.repeats?.length ? event.repeats : [event.value];
    if (raws.length === 1) return { ...readTyped(name, field, String(raws[0]), null), gauge: event.gauge ?? "", event };
    const all = raws.map((raw) => readTyped(name, field, String(raw), null));
    const values = all.map((reading) => reading.value);
    const value = values.reduce((sum, each) => sum + each, 0) / values.length;
    return { ...all[0], raw: raws.join("; "), value, repeats: values.length, all: values, raws,
      spread: Math.max(...values) - Math.min(...values), gauge: event.gauge ?? "", event };
  } catch (error) {
    return { kind: "unread", raw: String(event.value), problem: error.message, event };
  }
}
