// Every sentence of the form passes here. English is the key; a language adds its own table under its code.
const TABLES = {};
const table = () => TABLES[document.documentElement.lang] ?? {};

export function t(english, values = {}) {
  const text = table()[english] ?? english;
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
}

export const plural = (n, one, many) => t(n === 1 ? one : many, { n });

// A number as everybody reads it: decimal point, no thousands mark that could be taken for one.
export function numberText(number, decimals) {
  const text = number.toFixed(decimals);
  return /^-0\.?0*$/.test(text) ? text.slice(1) : text.replace("-", "\u2212");
}

export function probabilityText(p) {
  if (p === null || p === undefined) return "";
  if (p > 0.995) return "> 0.99";
  if (p < 0.005) return "< 0.01";
  return p.toFixed(2);
}

export const clockText = (iso) => new Date(iso).toLocaleTimeString("en-GB");
export const dayText = (iso) => iso.slice(0, 10);

export const SPOTS = { LT: "leading end, top", LB: "leading end, bottom", TT: "trailing end, top", TB: "trailing end, bottom" };
