// Keys for a gloved thumb. They write into the reading's own box, so that a keyboard or an instrument that types
// can take over at any moment.
import { h } from "./dom.js";
import { unitsOf, unitLabel } from "./quantity.js";
import { t } from "./words.js";

const USUAL = { LENGTH: ["mm", "in", "thou"], FORCE: ["N", "kN", "lbf"], PRESSURE: ["bar", "kPa", "psi"], TORQUE: ["N m", "lbf ft", "lbf in"],
  TEMPERATURE: ["degC", "degF"], FRACTION: ["%"], MASS: ["kg", "t", "lb"], ACCELERATION: ["m/s2", "ft/s2"], COUNT: [] };

export const usualUnits = (kind, unit) => {
  const usual = USUAL[kind] ?? unitsOf(kind).slice(0, 3).map((each) => each.symbol);
  return usual.includes(unit) || !unit || unit === "1" ? usual : [unit, ...usual];
};

export function keypad({ kind, input, onEnter, enterLabel }) {
  const write = (text) => {
    const { selectionStart: from, selectionEnd: to, value } = input;
    input.value = value.slice(0, from ?? value.length) + text + value.slice(to ?? value.length);
    const caret = (from ?? value.length) + text.length;
    input.setSelectionRange(caret, caret);
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const back = () => {
    const { selectionStart: from, selectionEnd: to, value } = input;
    if (from !== to) return write("");
    if (from > 0) {
      input.setSelectionRange(from - 1, from);
      write("");
    }
    return undefined;
  };
  const key = (label, action, options = {}) => h("button", { type: "button", class: `key ${options.class ?? ""}`, "aria-label": options.name ?? null,
    onmousedown: (event) => event.preventDefault(), onclick: action }, label);
  const digit = (text, name) => key(text, () => write(text), { name });
  return h("div", { class: "keypad", role: "group", "aria-label": t("Keys") },
    ["7", "8", "9"].map((text) => digit(text)), key("\u232b", back, { name: t("Delete the last sign"), class: "quiet" }),
    ["4", "5", "6"].map((text) => digit(text)), digit("/", t("Fraction line")),
    ["1", "2", "3"].map((text) => digit(text)), digit("\u2212", t("Minus")),
    digit("."), digit("0"), kind === "COUNT" ? h("span") : key("\u2423", () => write(" "), { name: t("Space"), class: "quiet" }),
    key(enterLabel ?? "\u21b5", onEnter, { name: t("Enter: keep and go on"), class: "go" }));
}

export function unitChoice(kind, unit, onChoose) {
  const units = usualUnits(kind, unit);
  if (units.length < 2) return h("span", { class: "unit-one" }, unit === "1" ? "" : unitLabel(unit, kind));
  return h("div", { class: "units", role: "group", "aria-label": t("Unit of a bare number") },
    units.map((each) => h("button", { type: "button", class: "unit", "aria-pressed": String(each === unit), onclick: () => onChoose(each) }, unitLabel(each, kind))));
}
