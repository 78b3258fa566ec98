// Reads the text of one quantity exactly, and refuses what could mean two things: the same rules as
// wearline.units.parsing, held to it by shared test vectors. Numbers are fractions of whole numbers.
import { HINTS, KINDS, SEVERAL_MEANINGS, SIGNS } from "./units_table.js";

export class QuantityError extends Error {
  constructor(what, allowed = "", cure = "") {
    super(what);
    this.name = "QuantityError";
    this.allowed = allowed;
    this.cure = cure;
  }
}

const LONGEST = 64;
const SPACES = /[\t\u00a0\u2002-\u200a\u202f]/g;
const ENDS = /^[\t-\r\x1c- \x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]+|[\t-\r\x1c- \x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]+$/g;
const VULGAR = {
  "½": [1, 2], "⅓": [1, 3], "⅔": [2, 3], "¼": [1, 4], "¾": [3, 4], "⅕": [1, 5], "⅖": [2, 5], "⅗": [3, 5],
  "⅘": [4, 5], "⅙": [1, 6], "⅚": [5, 6], "⅐": [1, 7], "⅛": [1, 8], "⅜": [3, 8], "⅝": [5, 8], "⅞": [7, 8],
  "⅑": [1, 9], "⅒": [1, 10],
};
const VULGAR_SIGNS = Object.keys(VULGAR).join("");
const DECIMAL = /^([+-]?)([1-9][0-9]{0,2}(?: [0-9]{3})+(?![0-9])|[0-9]*)(?:([.,])([0-9]+))?/;
const WRITTEN_FRACTION = /^([+-]?)(?:([0-9]+)(?: +|-|‐|‑|–))?([0-9]+)\/([0-9]+)/;
const SIGN_FRACTION = new RegExp(`^([+-]?)(?:([0-9]+)(?: *|-|‐|‑|–))?([${VULGAR_SIGNS}])`);
const EXPONENT = /^[eE][+-]?[0-9]/;
const RANGE = /[0-9]\s*(?:-|–|—|\.\.+|…|to|bis)\s*[0-9]/;
const TWO_DECIMALS = /[.,][0-9]+[ ;]+[0-9]/;
const TWO_NUMBERS = /[0-9][ ;]+[0-9]/;
const NUMBER_GOES_ON = new Set("0123456789.,/+-‐‑–—…±" + VULGAR_SIGNS);
const ALLOWED = "one number and one unit, such as '1.40 mm', '55 thou', '1 1/4 in' or '3,2 mm'";

const fold = (text) => text.toUpperCase().toLowerCase();
const plainSigns = (text) => [...text].map((sign) => SIGNS[sign] ?? sign).join("");
export const strip = (text) => text.replace(ENDS, "");

const EXACT = {};
const FOLDED = {};
for (const [kind, { units }] of Object.entries(KINDS)) {
  EXACT[kind] = new Map();
  FOLDED[kind] = new Map();
  for (const unit of units) {
    unit.kind = kind;
    unit.top = BigInt(unit.scale[0]);
    unit.bottom = BigInt(unit.scale[1]);
    unit.offsetTop = BigInt(unit.offset[0]);
    unit.offsetBottom = BigInt(unit.offset[1]);
    for (const spelling of [unit.symbol, ...unit.aliases]) {
      EXACT[kind].set(spelling, unit);
      if (!unit.exactly && !FOLDED[kind].has(fold(spelling))) FOLDED[kind].set(fold(spelling), unit);
    }
  }
}

export const unitsOf = (kind) => KINDS[kind].units;

export function findUnit(name, kind) {
  const exact = EXACT[kind];
  if (exact.has(name)) return exact.get(name);
  let key = strip(plainSigns(name));
  if (key.endsWith(".") && !exact.has(key)) key = key.slice(0, -1);
  return exact.get(key) ?? FOLDED[kind].get(fold(key)) ?? null;
}

export function allowedUnits(kind) {
  const labels = unitsOf(kind).map((unit) => unit.label).filter(Boolean);
  const words = KINDS[kind].words;
  const article = "aeiou".includes(words[0]) ? "an" : "a";
  return `${article} ${words} ${labels.length ? `in ${labels.join(", ")}` : "without a unit"}`;
}

export function unitFor(name, kind) {
  const unit = findUnit(name, kind);
  if (unit) return unit;
  const shown = `'${name.slice(0, 40)}'`;
  const key = fold(strip(plainSigns(name)));
  if (SEVERAL_MEANINGS[key]) {
    throw new QuantityError(`${shown} can mean ${SEVERAL_MEANINGS[key]}`, allowedUnits(kind),
      "Write 't' for 1000 kg, or use kg or lb");
  }
  for (const other of Object.keys(KINDS)) {
    const meant = findUnit(name, other);
    if (meant) {
      const hint = HINTS.find(([of, symbol]) => of === kind && symbol === meant.symbol);
      throw new QuantityError(`${shown} is a unit of ${KINDS[other].words}, not of ${KINDS[kind].words}`,
        allowedUnits(kind), hint ? hint[2] : "Was the reading put in the wrong field?");
    }
  }
  throw new QuantityError(`${shown} is not a known unit of ${KINDS[kind].words}`, allowedUnits(kind),
    "Write one of the allowed units behind the number");
}

const knownAnywhere = (name) => Object.keys(KINDS).some((kind) => findUnit(name, kind) !== null);
const isAscii = (text) => /^[\x00-\x7f]*$/.test(text);

function plainText(text) {
  if (isAscii(text)) return strip(text);
  let plain = strip(text.replace(SPACES, " "));
  if (plain.startsWith("\u2212")) plain = "-" + plain.slice(1);
  return plain.replace(/[⁄∕／]/g, "/");
}

function refuseThreeDigits(text, mark, whole, decimals, rest) {
  const unit = rest ? ` ${rest}` : "";
  const joined = whole.replaceAll(" ", "");
  let small = `${joined}.${decimals}`;
  if (mark === "point") small = small.replace(/0+$/, "").replace(/\.$/, "");
  throw new QuantityError(
    `'${text}' has a ${mark} before exactly three digits, which can separate thousands or decimals`,
    "a decimal point or comma; thousands separated by spaces only",
    `Write '${small}${unit}' or '${joined}${decimals}${unit}'`);
}

function refuseNumber(text, plain) {
  const say = (what, cure) => { throw new QuantityError(what, ALLOWED, cure); };
  if (!plain) say("an empty text is no quantity", "Leave the field out if it was not measured");
  if (plain.includes("±") || plain.includes("+/-")) {
    say(`'${text}' holds a value and an uncertainty`, "Give the standard uncertainty in its own field");
  }
  if (TWO_DECIMALS.test(plain)) say(`'${text}' holds more than one number`, "Write one reading per field");
  if (plain.includes(".") && plain.includes(",")) {
    say(`'${text}' has a point and a comma`, "Leave the thousands separator out");
  }
  if (plain.split(",").length > 2 || plain.split(".").length > 2) {
    say(`'${text}' has several decimal marks`, "Leave the thousands separators out");
  }
  if ("<>~≤≥≈".includes(plain[0])) {
    say(`'${text}' is a bound or an estimate, not a reading`, "Write the value read, or say why it cannot be measured");
  }
  if (RANGE.test(plain) && !plain.includes("/")) say(`'${text}' looks like a range`, "Write one value per reading");
  if (TWO_NUMBERS.test(plain)) say(`'${text}' holds more than one number`, "Write one reading per field");
  if (/^[+-]{0,2}[.,]?[0-9]/.test(plain)) {
    say(`the number in '${text}' cannot be read`, "Write it with digits and one decimal mark");
  }
  say(`'${text}' does not begin with a number`, "Write the number first, then the unit");
}

function readFraction(text, plain) {
  let match = WRITTEN_FRACTION.exec(plain);
  let sign, whole, top, bottom;
  if (match) {
    [, sign, whole] = match;
    top = BigInt(match[3]);
    bottom = BigInt(match[4]);
  } else {
    match = SIGN_FRACTION.exec(plain);
    if (!match) refuseNumber(text, plain);
    [, sign, whole] = match;
    [top, bottom] = VULGAR[match[3]].map(BigInt);
  }
  const rest = plain.slice(match[0].length).replace(/^ +/, "");
  if (rest && NUMBER_GOES_ON.has(rest[0])) refuseNumber(text, plain);
  if (bottom === 0n) {
    throw new QuantityError(`'${text}' divides by zero`, "a fraction such as 5/32", "Check the number below the line");
  }
  if (whole !== undefined && top >= bottom) {
    throw new QuantityError(`'${text}' has a fraction of one or more behind a whole number`,
      "a whole number and a proper fraction, such as 1 1/4", "Write the number as decimals");
  }
  return [sign, top + (whole ? BigInt(whole) : 0n) * bottom, bottom, rest];
}

function readNumber(text, plain, kind) {
  const match = DECIMAL.exec(plain);
  const [, sign, whole, mark, decimals] = match;
  const rest = plain.slice(match[0].length).replace(/^ +/, "");
  if (rest && NUMBER_GOES_ON.has(rest[0])) return readFraction(text, plain);
  if (decimals === undefined) {
    if (!whole) refuseNumber(text, plain);
    return [sign, BigInt(whole.replaceAll(" ", "")), 1n, rest];
  }
  if (decimals.length === 3 && whole !== "" && whole !== "0") {
    if (mark === ",") refuseThreeDigits(text, "comma", whole, decimals, rest);
    if (kind === "DISTANCE" && whole.length <= 3) refuseThreeDigits(text, "point", whole, decimals, rest);
  }
  return [sign, BigInt((whole + decimals).replaceAll(" ", "")), 10n ** BigInt(decimals.length), rest];
}

function readUnit(text, rest, kind, defaultUnit) {
  if (!rest) {
    if (defaultUnit) return unitFor(defaultUnit, kind);
    if (kind === "COUNT") return unitsOf(kind)[0];
    throw new QuantityError(`'${text}' has no unit`, allowedUnits(kind),
      `Write the unit behind the number, for instance '${strip(text)} ${unitsOf(kind)[0].label}'`);
  }
  const unit = findUnit(rest, kind);
  if (unit && rest !== "1") return unit;
  if (EXPONENT.test(rest)) {
    throw new QuantityError(`'${text}' has an exponent`, "digits and one decimal mark", "Write the number out in digits");
  }
  if (rest.includes("±") || rest.includes("+/-")) {
    throw new QuantityError(`'${text}' holds a value and an uncertainty`, "one number and one unit",
      "Give the standard uncertainty in its own field");
  }
  if (/[\p{N}]/u.test(rest) && !knownAnywhere(rest)) {
    throw new QuantityError(`'${text}' holds more than one number`,
      "one number and one unit; thousands in full groups of three behind a space", "Write one reading per field");
  }
  const words = rest.split(/\s+/).filter(Boolean);
  if (words.length > 1 && words.every(knownAnywhere)) {
    throw new QuantityError(`'${text}' has two units`, "one number and one unit", "Keep one of them");
  }
  return unitFor(rest, kind);
}

// The float nearest to a fraction, correctly rounded: 70 significant bits and one that says 'and a little more'.
export function nearestFloat(top, bottom) {
  if (top === 0n) return 0;
  const negative = top < 0n !== bottom < 0n;
  let over = top < 0n ? -top : top;
  let under = bottom < 0n ? -bottom : bottom;
  const shift = 70 - (over.toString(2).length - under.toString(2).length);
  if (shift > 0) over <<= BigInt(shift);
  else under <<= BigInt(-shift);
  const quotient = over / under;
  const sticky = quotient * under === over ? 0n : 1n;
  const value = Number((quotient << 1n) | sticky) * 2 ** -(shift + 1);
  return negative ? -value : value;
}

export function parseQuantity(text, kind, defaultUnit = null) {
  if ([...text].length > LONGEST) {
    throw new QuantityError(`a text of ${[...text].length} characters is no quantity`, `at most ${LONGEST} characters`,
      "Write one number and one unit, and put remarks into the note");
  }
  const plain = plainText(text);
  let [sign, top, bottom, rest] = readNumber(text, plain, kind);
  const unit = readUnit(text, rest, kind, defaultUnit);
  const fraction = plain.includes("/") || plain.at(-1) in VULGAR;
  if (!rest && fraction && kind === "LENGTH" && !["in", "ft"].includes(unit.symbol)) {
    throw new QuantityError(`'${text}' is a fraction without a unit where ${unit.label} is expected`,
      "a fraction with its unit", `Write '${strip(text)} in' or '${strip(text)} ${unit.label}'`);
  }
  if (sign === "-") top = -top;
  const exactBottom = bottom * unit.bottom * unit.offsetBottom;
  const exactTop = top * unit.top * unit.offsetBottom + unit.offsetTop * bottom * unit.bottom;
  if (kind === "TEMPERATURE" && exactTop < 0n) {
    throw new QuantityError(`'${text}' is below absolute zero`, "-273.15 degC (-459.67 degF) and above", "Check the sign");
  }
  if (kind === "COUNT" && (top < 0n || top % bottom !== 0n)) {
    throw new QuantityError(`'${text}' is not a count`, "a whole number, 0 or more", "Write how many there are");
  }
  return {
    raw: text, kind, unit: unit.symbol, label: unit.label, exactTop, exactBottom, hasUnit: rest !== "",
    value: nearestFloat(exactTop, exactBottom),
    resolution: nearestFloat(unit.top, bottom * unit.bottom),
  };
}

export function toUnit(value, symbol, kind) {
  const unit = findUnit(symbol, kind);
  const scale = nearestFloat(unit.top, unit.bottom);
  return (value - nearestFloat(unit.offsetTop, unit.offsetBottom)) / scale;
}

// A difference in the unit of a quantity: degrees without their offset.
export function differenceIn(value, symbol, kind) {
  const unit = findUnit(symbol, kind);
  return value / nearestFloat(unit.top, unit.bottom);
}

export function unitLabel(symbol, kind) {
  const label = findUnit(symbol, kind)?.label ?? symbol;
  return { degC: "°C", degF: "°F", "N m": "N·m", "m/s2": "m/s²", um: "µm" }[label] ?? label;
}
