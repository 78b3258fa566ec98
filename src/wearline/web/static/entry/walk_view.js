// The vehicle: what is known at each wheel end, what comes next, what stands in the way of finishing.
import { catalogue } from "./catalogue.js";
import { h } from "./dom.js";
import { STAGES, stageOf } from "./order.js";
import { drawVehicle } from "./vehicle.js";
import { plural, t } from "./words.js";

export function wheelEnds(draft, link, current = null) {
  return new Map(draft.places.map((place) => [place, { href: link(place), counts: draft.counts(place), current: place === current, drum: draft.isDrum(place) }]));
}

export function map(draft, link, current = null) {
  const element = h("nav", { class: "map", "aria-label": t("Wheel ends, from above, front up") });
  drawVehicle(draft.vehicle, draft.state.start?.value.axles ?? [], wheelEnds(draft, link, current), element);
  return element;
}

// What the diagnosis would look at next, where the server has said so.
function advised(draft, stepLink) {
  const items = draft.live?.next ?? draft.server?.next ?? [];
  const found = items.filter((item) => item.because).flatMap((item) => [item.at].flat().map((place) => ({ item, place })))
    .map(({ item, place }) => ({ item, place, step: draft.steps.find((each) => each.check === item.check && each.place === place && !draft.isTaken(each)) }))
    .find(({ step }) => step);
  if (!found) return null;
  const { item, place, step } = found;
  return h("p", { class: "advised" }, t("By the diagnosis next:"), " ", h("a", { href: stepLink(step), class: "button" }, `${place} ${item.title}`.trim()),
    item.because ? h("span", { class: "small" }, ` ${item.because}`) : null);
}

export function walkView({ draft, endLink, stepLink, openLink, report, rerender }) {
  const known = catalogue();
  const open = draft.state.contradictions.length;
  const stages = STAGES.map((stage) => {
    const steps = draft.steps.filter((step) => stageOf(known.checks[step.check]) === stage && !draft.isDrum(step.place));
    const left = steps.filter((step) => !draft.isTaken(step) && !draft.isNeedless(step));
    const next = left[0];
    return h("li", {}, h("a", { href: next ? stepLink(next) : endLink(""), class: "row", "aria-disabled": next ? null : "true" },
      h("span", { class: "row-name" }, t(stage.title)), h("span", { class: "row-value" }, next ? `${next.place} ${known.fields[next.field].label}` : t("nothing left")),
      h("span", { class: "row-word" }, `${steps.length - left.length} / ${steps.length}`)));
  });
  const { vehicle } = draft;
  const wheelsOff = draft.live?.judgement?.axles?.filter((axle) => axle.wheels === "take off") ?? [];
  return h("article", { class: "walk" },
    h("header", { class: "sheet-head" }, h("h1", { tabindex: "-1" }, vehicle.id || t("Vehicle")), h("p", { class: "small" }, [vehicle.description, vehicle.kind, draft.state.start?.value.taken_on].filter(Boolean).join(" \u00b7 "))),
    draft.state.finished ? h("p", { class: "notice" }, t("Finished {at}. What is entered now is kept as a further entry.", { at: draft.state.finished.at.slice(0, 10) })) : null,
    draft.endRefused ? h("p", { class: "notice" }, h("strong", {}, t("The server did not finish it:")), ` ${draft.endRefused.what}. ${draft.endRefused.cure ?? ""} `,
      h("a", { href: "#/tablet" }, t("Send it again from 'This tablet' when it is put right."))) : null,
    open ? h("p", { class: "notice" }, h("a", { href: openLink }, plural(open, "{n} reading contradicts between two tablets: decide which one stands", "{n} readings contradict between two tablets: decide which ones stand"))) : null,
    h("div", { class: "walk-map" }, map(draft, endLink)),
    h("section", { class: "stage" }, h("h2", {}, t("The way that saves getting up")), advised(draft, stepLink), h("ul", { class: "rows" }, stages)),
    wheelsOff.length ? h("section", { class: "stage" }, h("h2", {}, t("Wheels off")), h("ul", { class: "plain" }, wheelsOff.map((axle) => h("li", {}, h("strong", {}, t("Axle {axle}", axle)), `: ${axle.reasons.join("; ")}`)))) : null,
    h("section", { class: "stage" }, h("h2", {}, t("The vehicle itself")), h("div", { class: "pair" }, h("a", { class: "button", href: endLink("") }, t("Checks of the vehicle")), h("a", { class: "button", href: openLink }, t("What is open")))),
    facts(draft, report, rerender),
    cautions(),
  );
}

// What can hurt or kill at this work, in the catalogue's words where it has come.
function cautions() {
  const known = Object.values(catalogue().cautions ?? {});
  const texts = known.length ? known : [t("Level floor, chocks both ways at a wheel that stays down. The jack lifts, stands hold. Spring brakes store thousands of newtons: cage them by the maker's bolt. Hot parts, pinch points at the calliper, brake dust.")];
  return h("section", { class: "stage cautions" }, h("h2", {}, t("Before anything")), h("ul", { class: "plain" }, texts.map((text) => h("li", {}, text))),
    h("p", {}, t("Local codes, the maker's instructions and a qualified person decide; this page releases no vehicle.")));
}

const FACTS = [["inspector", "Inspector", "text"], ["qualification", "Qualification", "text"], ["odometer_km", "Odometer [km]", "number"],
  ["km_since_pads", "Since new pads [km]", "number"], ["hour_counter_h", "Hour counter [h]", "number"], ["stop_counter", "Stop counter", "number"], ["note", "Note", "text"]];

function facts(draft, report, rerender) {
  const inputs = {};
  const packs = Object.entries(catalogue().packs ?? {});
  const pack = h("select", { id: "fact-rule_pack", class: "line" }, packs.map(([id, title]) => h("option", { value: id }, title || id)));
  pack.value = [draft.state.facts.rule_pack?.value].flat()[0] ?? "none";
  const fields = FACTS.map(([name, label, type]) => {
    inputs[name] = h("input", { id: `fact-${name}`, class: "line", type: "text", inputmode: type === "number" ? "decimal" : "text", maxlength: 400 });
    inputs[name].value = draft.state.facts[name]?.value ?? "";
    return h("div", { class: "field" }, h("label", { for: `fact-${name}` }, t(label)), inputs[name]);
  });
  const peers = {};
  for (const axle of draft.state.start?.value.axles ?? []) {
    const name = `peer-${axle.id}`;
    peers[axle.id] = h("input", { id: `fact-${name}`, class: "line", type: "text", inputmode: "decimal", maxlength: 12 });
    peers[axle.id].value = draft.state.facts.peer_wear?.value?.[axle.id] ?? "";
    fields.push(h("div", { class: "field" }, h("label", { for: `fact-${name}` }, t("Usual wear of peers, axle {id} [mm per 10 000 km]", axle)), peers[axle.id]));
  }
  const problem = h("p", { class: "said unclear", role: "alert" });
  const keep = async () => {
    const parts = [];
    for (const [name, label, type] of FACTS) {
      const text = inputs[name].value.trim();
      const before = draft.state.facts[name]?.value;
      if (text === String(before ?? "")) continue;
      if (type === "number" && text && !/^[0-9]+([.][0-9]+)?$/.test(text.replaceAll(" ", ""))) {
        problem.textContent = t("{label}: digits only, as 412 300", { label: t(label) });
        inputs[name].focus();
        return;
      }
      parts.push({ kind: "fact", field: name, value: !text ? null : type === "number" ? Number(text.replaceAll(" ", "")) : text });
    }
    if (packs.length && pack.value !== ([draft.state.facts.rule_pack?.value].flat()[0] ?? "none")) parts.push({ kind: "fact", field: "rule_pack", value: pack.value });
    const rates = Object.fromEntries(Object.entries(peers).filter(([, input]) => input.value.trim()).map(([axle, input]) => [axle, Number(input.value.trim())]));
    if (Object.values(rates).some((rate) => !(rate > 0 && rate <= 100))) {
      problem.textContent = t("Usual wear of peers: more than 0 to 100 mm per 10 000 km, with a decimal point.");
      return;
    }
    if (JSON.stringify(rates) !== JSON.stringify(draft.state.facts.peer_wear?.value ?? {})) parts.push({ kind: "fact", field: "peer_wear", value: rates });
    if (!parts.length) return;
    try {
      await draft.add(parts);
      report(t("Facts kept"));
      rerender();
    } catch (error) {
      report(error.message, true);
    }
  };
  return h("details", { class: "facts" }, h("summary", {}, t("Facts of this inspection")), h("div", { class: "field-grid" }, fields,
    packs.length ? h("div", { class: "field" }, h("label", { for: "fact-rule_pack" }, t("Rule pack")), pack) : null), problem,
  h("div", { class: "pair" }, h("button", { type: "button", class: "button next", onclick: keep }, t("Keep the facts"))));
}

