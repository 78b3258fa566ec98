// Which vehicle: one that is being inspected, one that is known, or a new one.
import { catalogue } from "./catalogue.js";
import { h, replace } from "./dom.js";
import { foldEvents, newId } from "./events.js";
import * as store from "./store.js";
import { count, fetchDraft, sync } from "./sync.js";
import { dayText, t } from "./words.js";

const LAYOUTS = [
  { id: "2", text: "two axles, single rear wheels", axles: [["steer", "single"], ["drive", "single"]] },
  { id: "2d", text: "two axles, dual rear wheels", axles: [["steer", "single"], ["drive", "dual"]] },
  { id: "3", text: "three axles, two driven", axles: [["steer", "single"], ["drive", "dual"], ["drive", "dual"]] },
  { id: "3t", text: "three axles, one tag", axles: [["steer", "single"], ["drive", "dual"], ["tag", "single"]] },
  { id: "4", text: "four axles, two steered", axles: [["steer", "single"], ["steer", "single"], ["drive", "dual"], ["drive", "dual"]] },
  { id: "t3", text: "trailer, three axles", axles: [["trailer", "single"], ["trailer", "single"], ["trailer", "single"]] },
];

async function begin(vehicle, axles, open, report) {
  const draft = newId();
  const day = new Date();
  const takenOn = [day.getFullYear(), day.getMonth() + 1, day.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
  try {
    await store.append([{ draft, kind: "start", value: { vehicle, axles, taken_on: takenOn } }]);
    await store.setCache(`vehicle:${vehicle.id}`, { vehicle, axle: axles });
    await count();
    sync();
    open(draft);
  } catch (error) {
    report(error.message, true);
  }
}

function newVehicle(open, report) {
  const known = catalogue();
  const id = h("input", { id: "vehicle-id", class: "line", type: "text", maxlength: 80, autocomplete: "off", required: true });
  const description = h("input", { id: "vehicle-description", class: "line", type: "text", maxlength: 200, autocomplete: "off" });
  const choice = (name, values) => h("select", { id: name, class: "line" }, values.map(([value, text]) => h("option", { value }, text)));
  const kind = choice("vehicle-kind", known.vehicle_kinds.map((each) => [each, each]));
  const design = choice("vehicle-design", Object.entries(known.designs).map(([each, value]) => [each, value.title]));
  const layout = choice("vehicle-layout", LAYOUTS.map((each) => [each.id, t(each.text)]));
  const mass = h("input", { id: "vehicle-mass", class: "line", type: "text", inputmode: "numeric", maxlength: 10 });
  const axleRows = h("div", { class: "axle-rows" });
  let axles = [];
  const draw = () => replace(axleRows, axles.map((axle, index) => h("div", { class: "axle-row" },
    h("span", { class: "axle-id" }, axle.id),
    ...[["role", known.axle_roles], ["wheels", ["single", "dual"]], ["brake", ["air disc", "drum"]]].map(([key, values]) => {
      const select = h("select", { class: "line", "aria-label": t(`${key} of axle {id}`, axle), onchange: (event) => { axle[key] = event.target.value; } }, values.map((value) => h("option", { value }, value)));
      select.value = axle[key];
      return select;
    }),
    h("button", { type: "button", class: "button", "aria-label": t("Leave axle {id} out", axle), onclick: () => { axles.splice(index, 1); number(); } }, "\u2212"))),
  h("div", { class: "pair" }, h("button", { type: "button", class: "button", onclick: () => { axles.push({ role: axles.at(-1)?.role ?? "drive", wheels: "single", brake: "air disc" }); number(); } }, t("One more axle")),
    h("button", { type: "button", class: "button", onclick: () => { axles.push({ role: "trailer", wheels: "single", brake: "air disc", towed: true }); number(); } }, t("One more axle of a towed trailer"))));
  const number = () => {
    let [own, towed] = [0, 0];
    axles = axles.map((axle) => ({ ...axle, id: axle.towed ? `T${(towed += 1)}` : String((own += 1)) }));
    draw();
  };
  layout.addEventListener("change", () => {
    axles = LAYOUTS.find((each) => each.id === layout.value).axles.map(([role, wheels]) => ({ role, wheels, brake: "air disc" }));
    number();
  });
  layout.dispatchEvent(new Event("change"));
  const problem = h("p", { class: "said unclear", role: "alert" });
  const field = (label, input) => h("div", { class: "field" }, h("label", { for: input.id }, t(label)), input);
  return h("details", { class: "facts new-vehicle", id: "new-vehicle" }, h("summary", {}, t("New vehicle")), h("form", { onsubmit: (event) => {
    event.preventDefault();
    const name = id.value.trim();
    if (!name || !axles.length) {
      problem.textContent = t(name ? "A vehicle has at least one axle." : "Give the vehicle the name it has in the yard.");
      id.focus();
      return;
    }
    const kilograms = mass.value.replaceAll(" ", "");
    if (kilograms && !/^[0-9]{3,6}$/.test(kilograms)) {
      problem.textContent = t("Test mass: kilograms in digits, as 17200.");
      mass.focus();
      return;
    }
    const vehicle = { id: name, kind: kind.value, design: design.value };
    if (description.value.trim()) vehicle.description = description.value.trim();
    if (kilograms) vehicle.test_mass_kg = Number(kilograms);
    begin(vehicle, axles.map(({ id: axle, role, wheels, brake }) => ({ id: axle, role, wheels, ...(brake === "drum" ? { brake } : {}) })), open, report);
  } }, h("div", { class: "field-grid" }, field("Name of the vehicle", id), field("Description", description), field("Kind", kind), field("Brake design", design), field("Test mass [kg]", mass), field("Axles", layout)),
  axleRows, problem, h("div", { class: "pair" }, h("button", { type: "submit", class: "button next" }, t("Begin the walk round")))));
}

async function lists(open, report) {
  const here = await store.draftsHere();
  const away = ((await store.getCache("drafts").catch(() => null)) ?? []).filter((item) => !here.some((draft) => draft.id === (item.id ?? item.draft)));
  const vehicles = ((await store.getCache("vehicles").catch(() => null)) ?? []);
  const rows = here.map(({ id, events }) => ({ id, state: foldEvents(events) })).filter(({ state }) => state.start)
    .sort((a, b) => (a.state.start.at < b.state.start.at ? 1 : -1)).map(({ id, state }) => h("li", {}, h("a", { class: "row", href: `#/d/${id}` },
      h("span", { class: "row-name" }, state.start.value.vehicle.id), h("span", { class: "row-value" }, state.start.value.taken_on),
      h("span", { class: "row-word" }, state.finished ? t("finished") : t("{n} entries", { n: state.count })))));
  const elsewhere = away.map((item) => h("li", {}, h("button", { type: "button", class: "row", onclick: async () => {
    try {
      await fetchDraft(item.id ?? item.draft);
      open(item.id ?? item.draft);
    } catch {
      report(t("The server cannot be reached, and this tablet does not have that inspection yet."), true);
    }
  } }, h("span", { class: "row-name" }, item.vehicle?.id ?? item.vehicle ?? item.id), h("span", { class: "row-value" }, item.taken_on ?? ""), h("span", { class: "row-word" }, t("on another tablet")))));
  const known = vehicles.map((item) => {
    const vehicle = item.vehicle?.id ? item.vehicle : item;
    const axles = item.axle ?? item.axles ?? vehicle.axles ?? [];
    return axles.length ? h("li", {}, h("button", { type: "button", class: "row", onclick: () => begin(stripped(vehicle), axles, open, report) }, h("span", { class: "row-name" }, vehicle.id),
      h("span", { class: "row-value" }, vehicle.description ?? ""), h("span", { class: "row-word" }, item.last ? dayText(item.last) : t("begin")))) : null;
  }).filter(Boolean);
  return [rows.length ? h("section", { class: "stage" }, h("h2", {}, t("On this tablet")), h("ul", { class: "rows" }, rows)) : null,
    elsewhere.length ? h("section", { class: "stage" }, h("h2", {}, t("Being inspected elsewhere")), h("ul", { class: "rows" }, elsewhere)) : null,
    known.length ? h("section", { class: "stage" }, h("h2", {}, t("Known vehicles")), h("ul", { class: "rows" }, known)) : null].filter(Boolean);
}

export async function startView({ open, report }) {
  const found = await lists(open, report);
  const place = h("div", { class: "lists" }, found);
  const made = newVehicle(open, report);
  made.open = !found.length;
  // What others have begun comes in a moment later; the form below stays as it is.
  const fresh = async () => {
    if (!place.isConnected) removeEventListener("wearline-drafts", fresh);
    else replace(place, await lists(open, report));
  };
  addEventListener("wearline-drafts", fresh);
  return h("article", { class: "sheet" }, h("header", { class: "sheet-head" }, h("h1", { tabindex: "-1" }, t("Which vehicle?"))), place, made);
}

function stripped(vehicle) {
  const kept = ["id", "description", "kind", "test_mass_kg", "rated_mass_kg", "design", "duty", "retarder", "built_on"];
  return Object.fromEntries(kept.filter((key) => vehicle[key]).map((key) => [key, vehicle[key]]));
}
