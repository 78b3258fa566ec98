// One wheel end (or the vehicle itself): everything that can be read there, by what has to be reached for it.
import { catalogue } from "./catalogue.js";
import { h } from "./dom.js";
import { standing } from "./events.js";
import { STAGES, checksInOrder, stageOf, stepsOf } from "./order.js";
import { photographs } from "./photo.js";
import { formOf, sign } from "./ruler.js";
import { t } from "./words.js";

const NOTICED = ["pull", "judder", "squeal", "knock", "smell", "smoke", "hot wheel", "long pedal"];

function summary(draft, place, steps) {
  const events = steps.map((step) => standing(draft.state, step.place, step.field, step.spot)[0]).filter(Boolean);
  if (!events.length) return null;
  const readings = steps.map((step) => draft.verdict(step.place, step.field, step.spot)).filter(Boolean);
  const order = ["beyond", "undecided", "void", "within"];
  const verdict = order.find((each) => readings.some((reading) => reading.verdict === each)) ?? "";
  const texts = steps.map((step) => draft.reading(step.place, step.field, step.spot)).filter(Boolean)
    .map((reading) => (reading.kind === "cannot" ? t("cannot: {reason}", { reason: reading.reason }) : reading.repeats > 1 ? reading.raws.join(", ") : reading.raw));
  return { verdict, text: texts.join(" \u00b7 ") };
}

export function endView({ draft, place, stepLink, report, rerender }) {
  const known = catalogue();
  const follow = draft.followUps(place);
  const open = new Set(draft.state.contradictions.map((item) => item.slot));
  const sections = STAGES.map((stage) => {
    const rows = checksInOrder(known).filter((id) => stageOf(known.checks[id]) === stage).map((id) => {
      const steps = stepsOf(id, place, known);
      if (!steps.length) return null;
      const names = [...new Set(steps.map((step) => step.field))];
      return names.map((name) => {
        const own = steps.filter((step) => step.field === name);
        const taken = summary(draft, place, own);
        const spots = own.filter((step) => draft.isTaken(step)).length;
        const contradicts = own.some((step) => open.has(JSON.stringify(["reading", place, name, step.spot])));
        const because = follow.void[name] ?? follow.needless[id] ?? "";
        const word = contradicts ? t("two readings contradict") : name in follow.void ? t("void") : taken ? (taken.verdict ? t(taken.verdict) : t("noted"))
          : id in follow.needless ? t("not needed for now") : id in follow.necessary ? t("needed") : "";
        const first = own.find((step) => !draft.isTaken(step)) ?? own[0];
        return h("li", {}, h("a", { href: stepLink(first), class: "row", title: because || null, "data-field": name },
          h("span", { class: "row-name" }, known.fields[name].label),
          h("span", { class: "row-value" }, taken ? taken.text : "", own.length > 1 && taken && spots < own.length ? ` (${spots}/${own.length})` : ""),
          h("span", { class: "row-word" }, word), taken?.verdict ? sign(name in follow.void ? "void" : formOf(taken.verdict)) : null));
      });
    }).flat().filter(Boolean);
    return rows.length ? h("section", { class: "stage" }, h("h2", {}, t(stage.title)), h("ul", { class: "rows" }, rows)) : null;
  });
  const next = draft.nextOpen(null, (step) => step.place === place);
  return h("article", { class: "sheet" },
    h("header", { class: "sheet-head" }, h("h1", { tabindex: "-1" }, place || t("The vehicle itself")),
      next ? h("a", { class: "button next", href: stepLink(next) }, t("Begin: {check}", { check: known.fields[next.field].label })) : h("p", {}, t("Everything here has a reading."))),
    sections, place ? remarks(draft, place, report, rerender) : null, photographs(draft, place, report));
}

function remarks(draft, place, report, rerender) {
  const [words] = standing(draft.state, place, "", "", "noticed");
  const [note] = standing(draft.state, place, "", "", "note");
  const chosen = new Set(words?.value ?? []);
  const save = async (parts) => {
    try {
      await draft.add(parts);
      report(t("{place} kept", { place }));
      rerender();
    } catch (error) {
      report(error.message, true);
    }
  };
  const box = h("textarea", { id: "note", class: "line", rows: 2, maxlength: 2000 });
  box.value = note?.value ?? "";
  return h("section", { class: "stage" }, h("h2", {}, t("Noticed")),
    h("div", { class: "reasons", role: "group", "aria-label": t("Noticed") }, [...new Set([...NOTICED, ...chosen])].map((word) =>
      h("button", { type: "button", class: "button", "aria-pressed": String(chosen.has(word)), onclick: () => {
        const next = new Set(chosen);
        if (!next.delete(word)) next.add(word);
        save([{ kind: "noticed", place, value: [...next] }]);
      } }, t(word)))),
    h("label", { for: "note", class: "small" }, t("Note")), box,
    h("div", { class: "pair" }, h("button", { type: "button", class: "button", onclick: () => save([{ kind: "note", place, value: box.value.trim() }]) }, t("Keep the note"))));
}
