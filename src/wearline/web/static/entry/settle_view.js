// What is open: contradictions between tablets, undecided and void readings, what is missing, and the finish.
import { catalogue } from "./catalogue.js";
import { h } from "./dom.js";
import { SPOTS, clockText, t } from "./words.js";

function slotWords(slot) {
  const [kind, place, name, spot] = JSON.parse(slot);
  const label = catalogue().fields[name]?.label ?? t(kind);
  return [place || t("Vehicle"), label, spot ? SPOTS[spot] : ""].filter(Boolean).join(", ");
}

const valueOf = (event) => (event.kind === "cannot" ? t("cannot be measured: {reason}", { reason: event.value }) : event.repeats?.length > 1 ? event.repeats.join(" \u00b7 ") : [event.value].flat().join(", "));

function contradictions(draft, report, rerender) {
  const settle = async (event, all) => {
    try {
      await draft.add([{ kind: "settle", place: event.place, field: event.field, spot: event.spot ?? "", refers: event.id, value: { over: all.map((each) => each.id) } }]);
      report(t("Decided and kept"));
      rerender();
    } catch (error) {
      report(error.message, true);
    }
  };
  return draft.state.contradictions.map((item) => h("li", { class: "contradiction" }, h("h3", {}, slotWords(item.slot)),
    h("div", { class: "sides" }, item.events.map((event) => h("div", { class: "side" }, h("p", { class: "shown" }, valueOf(event)),
      h("p", { class: "small" }, t("{by}, {time}, tablet {tablet}", { by: event.by || t("no name"), time: clockText(event.at), tablet: event.tablet.slice(0, 4) })),
      h("button", { type: "button", class: "button next", onclick: () => settle(event, item.events) }, t("This one stands")))))));
}

export function settleView({ draft, stepLink, report, rerender }) {
  const known = catalogue();
  const rows = (verdict) => draft.steps.filter((step) => draft.verdict(step.place, step.field, step.spot)?.verdict === verdict).map((step) => {
    const judged = draft.verdict(step.place, step.field, step.spot);
    return h("li", {}, h("a", { class: "row", href: stepLink(step) }, h("span", { class: "row-name" }, [step.place, known.fields[step.field].label, step.spot].filter(Boolean).join(" ")),
      h("span", { class: "row-value" }, judged.raw), h("span", { class: "row-word" }, judged.because ?? "")));
  });
  const list = (title, items, empty) => h("section", { class: "stage" }, h("h2", {}, t(title)), items.length ? h("ul", { class: "rows" }, items) : h("p", { class: "small" }, t(empty)));
  const halfPads = new Map();
  for (const step of draft.steps.filter((each) => each.spot)) {
    const key = `${step.place} ${known.fields[step.field].label}`;
    const entry = halfPads.get(key) ?? { step, taken: 0, all: 0, missing: [] };
    entry.all += 1;
    if (draft.isTaken(step)) entry.taken += 1;
    else entry.missing.push(step);
    halfPads.set(key, entry);
  }
  const half = [...halfPads].filter(([, entry]) => entry.taken && entry.missing.length).map(([key, entry]) => h("li", {}, h("a", { class: "row", href: stepLink(entry.missing[0]) },
    h("span", { class: "row-name" }, key), h("span", { class: "row-value" }, t("corners missing: {spots}", { spots: entry.missing.map((step) => step.spot).join(", ") })))));
  const missing = draft.places.filter((place) => !draft.isDrum(place)).map((place) => {
    const counts = draft.counts(place);
    const next = draft.nextOpen(null, (step) => step.place === place);
    return next ? h("li", {}, h("a", { class: "row", href: stepLink(next) }, h("span", { class: "row-name" }, place), h("span", { class: "row-value" }, t("{n} not taken", { n: counts.all - counts.taken })),
      h("span", { class: "row-word" }, known.fields[next.field].label))) : null;
  }).filter(Boolean);
  const needless = draft.places.flatMap((place) => {
    const follow = draft.followUps(place);
    return [...Object.entries(follow.needless).map(([id, because]) => [`${place} ${known.checks[id]?.title ?? id}`, because]),
      ...Object.entries(follow.void).map(([name, because]) => [`${place} ${known.fields[name]?.label ?? name}`, because])];
  }).map(([name, because]) => h("li", { class: "row still" }, h("span", { class: "row-name" }, name), h("span", { class: "row-value wide" }, because)));
  const refused = draft.state.contradictions.length || half.length;
  const problem = h("p", { class: "said", role: "alert" });
  const finish = async () => {
    if (refused) {
      problem.textContent = draft.state.contradictions.length ? t("Two tablets contradict each other: decide first which reading stands.") : t("A pad has some corners only: take the rest, or say why it cannot be measured.");
      return;
    }
    try {
      await draft.add([{ kind: "finish" }]);
      report(t("Finished and kept; it is sent as soon as the server can be reached"));
      rerender();
    } catch (error) {
      report(error.message, true);
    }
  };
  const contradicting = contradictions(draft, report, rerender);
  return h("article", { class: "sheet" }, h("header", { class: "sheet-head" }, h("h1", { tabindex: "-1" }, t("What is open"))),
    contradicting.length ? h("section", { class: "stage" }, h("h2", {}, t("Two tablets, two readings")), h("p", { class: "small" }, t("Both are kept for ever. Say which one stands.")), h("ul", { class: "plain" }, contradicting)) : null,
    list("Beyond a limit", rows("beyond"), "Nothing so far."), list("Undecided", rows("undecided"), "Nothing so far."), half.length ? list("Half a pad", half, "") : null,
    list("Not taken", missing, "Nothing is missing."), needless.length ? list("Void, or not needed for now", needless, "") : null,
    h("section", { class: "stage" }, h("h2", {}, t("Finish")), h("p", { class: "small" }, t("What is not taken is never counted as good. A signed inspection is corrected by a further entry only.")), problem,
      h("div", { class: "pair" }, h("button", { type: "button", class: "button next", onclick: finish }, t("Finish the inspection")))));
}
