// The order that saves getting up: everything for which nothing has to be moved, once round the vehicle; then
// with air up; then on the roller; and where a wheel is off, all checks of that wheel end before the next one.
import { placesOf } from "./events.js";

export const DEPTH = ["O", "N", "A", "R", "J", "W", "P", "D"];
// A reading on the left means nothing before the one on the right is known.
const AFTER = { F21: "F26", F12: "F11", F13: "F11" };
// States in which the person stays at one wheel end until everything is done there.
const STAY = new Set(["J", "W", "P", "D"]);
export const STAGES = [
  { id: "on", states: ["O", "N"], title: "Parked, wheels on" },
  { id: "air", states: ["A"], title: "Air up, helper at the pedal" },
  { id: "road", states: ["R"], title: "Road or roller" },
  { id: "off", states: ["J", "W", "P"], title: "Wheels off, pads out" },
  { id: "apart", states: ["D"], title: "Taken apart" },
];

export const stateOf = (check) => check.states.reduce((deep, state) =>
  (DEPTH.indexOf(state) > DEPTH.indexOf(deep) && !(state === "A" && deep !== "N" && deep !== "O") ? state : deep),
check.states[0] ?? "N");

// A check done in R and A is a roller check; one in W and A is done at the wheel end with air up.
export const stageOf = (check) => STAGES.find((stage) => stage.states.includes(stateOf(check)));

// The field is asked for once, at the check that usually gives it and that is within reach.
export function checkOfField(name, catalogue, states = null) {
  const checks = catalogue.fields[name].checks.filter((id) => catalogue.checks[id]);
  return checks.find((id) => !states || catalogue.checks[id].states.every((state) => states.includes(state) || state === "A"))
    ?? checks[0];
}

export function checksInOrder(catalogue) {
  const ids = Object.keys(catalogue.checks).filter((id) => fieldsOf(id, catalogue).length);
  const depth = (id) => DEPTH.indexOf(stateOf(catalogue.checks[id]));
  const sorted = ids.map((id, index) => ({ id, index })).sort((a, b) => depth(a.id) - depth(b.id) || a.index - b.index);
  const order = sorted.map((item) => item.id);
  for (const [later, earlier] of Object.entries(AFTER)) {
    const [from, to] = [order.indexOf(earlier), order.indexOf(later)];
    if (from > to && to >= 0) order.splice(to, 0, ...order.splice(from, 1));
  }
  return order;
}

export const fieldsOf = (id, catalogue) =>
  catalogue.checks[id].fields.filter((name) => catalogue.fields[name] && checkOfField(name, catalogue) === id);

// Readings of one check at one place: [{check, place, field, spot}].
export function stepsOf(check, place, catalogue) {
  return fieldsOf(check, catalogue)
    .filter((name) => catalogue.fields[name].vehicle_level === (place === ""))
    .flatMap((name) => (catalogue.fields[name].spots.length ? catalogue.fields[name].spots : [""])
      .map((spot) => ({ check, place, field: name, spot })));
}

// Round the vehicle: down the left side, up the right one.
export function roundOf(places) {
  const left = places.filter((place) => place.endsWith("L"));
  const right = places.filter((place) => place.endsWith("R")).reverse();
  return [...left, ...right];
}

export function stepsInOrder(draft, catalogue) {
  const checks = checksInOrder(catalogue);
  const round = roundOf(placesOf(draft));
  const steps = [];
  for (const stage of STAGES) {
    const here = checks.filter((id) => stageOf(catalogue.checks[id]) === stage);
    steps.push(...here.flatMap((id) => stepsOf(id, "", catalogue)));
    if (STAY.has(stage.states[0])) {
      for (const place of round) steps.push(...here.flatMap((id) => stepsOf(id, place, catalogue)));
    } else {
      for (const place of round) steps.push(...here.flatMap((id) => stepsOf(id, place, catalogue)));
      round.reverse();
    }
  }
  return steps;
}

export const keyOf = (step) => `${step.place}|${step.field}|${step.spot}`;
