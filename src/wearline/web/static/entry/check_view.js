// One check at a time: how it is done, where the gauge goes, and the ruler that follows what is typed.
import { catalogue, limitWords } from "./catalogue.js";
import { h, replace } from "./dom.js";
import { drawingFor } from "./drawings.js";
import { designOf, entriesOf } from "./events.js";
import { judgeMeasured, gaugeUncertainty } from "./judging.js";
import { keypad, unitChoice } from "./keypad.js";
import { keyOf, stateOf } from "./order.js";
import { photographs } from "./photo.js";
import { differenceIn, QuantityError, unitLabel } from "./quantity.js";
import { INCH, readTyped } from "./reading_text.js";
import { drawRuler, formOf, sign, valueText } from "./ruler.js";
import { clockText, numberText, plural, probabilityText, SPOTS, t } from "./words.js";

const REASONS = ["pins seized", "gauge does not reach", "part missing", "too hot", "not fitted"];
const unitMemory = () => JSON.parse(sessionStorage.getItem("wearline-units") ?? "{}");

export class CheckView {
  constructor({ draft, step, go, report, navigate }) {
    Object.assign(this, { draft, step, go, report, navigate, more: false, saving: false, buffer: "" });
    this.field = catalogue().fields[step.field];
    this.check = catalogue().checks[step.check];
    this.limits = draft.limits(step.place);
    this.unit = unitMemory()[this.field.kind] ?? (catalogue().units === "inch" ? INCH[this.field.kind] : null) ?? this.field.unit;
    if (this.field.kind === "COUNT") this.unit = "1";
    this.element = h("article", { class: "check", "aria-labelledby": "check-title" });
    this.build();
  }

  get existing() { return this.draft.reading(this.step.place, this.step.field, this.step.spot); }

  build() {
    const { step, field, check } = this;
    this.input = h("input", { id: "reading", class: "reading", type: "text", inputmode: matchMedia("(pointer: coarse)").matches && field.kind && !field.text ? "none" : "text",
      autocomplete: "off", autocapitalize: "off", spellcheck: "false", enterkeyhint: "next", "aria-describedby": "said", maxlength: field.text ? 200 : 64,
      oninput: () => this.typed(), onkeydown: (event) => this.key(event) });
    this.said = h("p", { id: "said", class: "said", "aria-live": "polite" });
    this.ruler = h("div", { class: "ruler-place" });
    this.repeats = h("div", { class: "repeats" });
    this.kept = h("p", { class: "kept", role: "status" });
    const peers = this.draft.steps.filter((each) => each.place === step.place);
    const at = peers.findIndex((each) => keyOf(each) === keyOf(step)) + 1;
    const how = h("details", { class: "how", open: this.howOpen() }, h("summary", {}, t("How it is done")),
      h("div", { class: "how-body" }, h("p", {}, check.how), h("dl", {},
        h("dt", {}, t("Gauge")), h("dd", {}, this.field.gauge || check.gauge, check.uncertainty || this.uncertaintyText() ? `, ${check.uncertainty || this.uncertaintyText()}` : ""),
        h("dt", {}, t("Where")), h("dd", {}, check.where), h("dt", {}, t("Limit")), h("dd", {}, limitWords(check, this.limits)),
        h("dt", {}, t("Beyond it")), h("dd", {}, check.beyond),
        check.mistakes.length ? [h("dt", {}, t("Common mistakes")), h("dd", {}, check.mistakes.join("; "))] : null)));
    how.addEventListener("toggle", () => sessionStorage.setItem("wearline-how", how.open ? "1" : "0"));
    this.drawing = h("figure", { class: "drawing-place" });
    replace(this.element,
      h("header", { class: "check-head" },
        h("p", { class: "where" }, h("strong", {}, [step.place || t("Vehicle"), step.spot].filter(Boolean).join(" ")), step.spot ? ` ${t(SPOTS[step.spot])} \u00b7` : "", ` ${t("{at} of {all}", { at, all: peers.length })} \u00b7 ${catalogue().states[stateOf(check)]?.title ?? ""}`),
        h("h1", { id: "check-title", tabindex: "-1" }, field.label)),
      this.followNote(), h("div", { class: "check-body" }, h("div", { class: "look" }, this.drawing, how, photographs(this.draft, step.place, this.report)),
        h("div", { class: "take" }, this.takePart())));
    this.draw();
    this.showStanding();
  }

  howOpen() {
    const stored = sessionStorage.getItem("wearline-how");
    return stored === null ? matchMedia("(min-width: 700px)").matches : stored === "1";
  }

  uncertaintyText() {
    const { field } = this;
    if (!field.kind || field.kind === "COUNT") return "";
    if (field.u_relative) return `\u00b1${numberText(200 * field.u_relative, 0)} % (k = 2)`;
    if (!field.u) return "";
    return `\u00b1${valueText(2 * field.u, field.kind === "TEMPERATURE" ? "K" : field.unit, field.kind === "TEMPERATURE" ? "TEMPERATURE_DIFFERENCE" : field.kind, field.u / 5)} (k = 2)`;
  }

  followNote() {
    const slot = JSON.stringify(["reading", this.step.place, this.step.field, this.step.spot]);
    if (this.draft.state.contradictions.some((item) => item.slot === slot)) {
      return h("p", { class: "follow" }, h("a", { href: `#/d/${this.draft.id}/open` }, t("Two tablets gave different readings here: decide which one stands")));
    }
    const follow = this.draft.followUps(this.step.place);
    const note = (kind, because) => h("p", { class: "follow" }, h("strong", {}, t(kind)), ` ${because}`);
    if (this.step.field in follow.void) return note("Means nothing here:", follow.void[this.step.field]);
    if (this.step.check in follow.needless) return note("Not needed for now:", follow.needless[this.step.check]);
    if (this.step.check in follow.necessary) return note("Needed:", follow.necessary[this.step.check]);
    return null;
  }

  takePart() {
    const { field } = this;
    const words = Object.keys(field.words);
    const parts = [];
    if (words.length) {
      parts.push(h("div", { class: "words", role: "group", "aria-label": field.label }, words.map((word, index) =>
        h("button", { type: "button", class: "word", "data-word": word, "aria-keyshortcuts": String(index + 1), onclick: () => this.chooseWord(word) }, word))));
    }
    if (field.kind || field.text) {
      parts.push(h("div", { class: "entry-line" }, h("label", { for: "reading", class: "visually-hidden" }, this.element.querySelector("h1")?.textContent || field.label), this.input,
        field.kind && !field.text ? this.unitPart() : null));
      if (field.kind) parts.push(this.ruler);
    }
    parts.push(this.said, this.kept, this.repeats);
    const actions = h("div", { class: "actions" },
      h("button", { type: "button", class: "button", onclick: () => this.askCannot() }, t("Cannot be measured")),
      this.existing ? h("button", { type: "button", class: "button", onclick: () => this.remove() }, t("Take back")) : null,
      h("button", { type: "button", class: "button", onclick: () => this.go("skip") }, t("Skip")),
      h("button", { type: "button", class: "button next", onclick: () => this.enter() }, t("Keep, next")));
    this.actions = actions;
    this.cannot = h("div", { class: "cannot", hidden: true });
    const pad = field.kind && !field.text ? keypad({ kind: field.kind, input: this.input, onEnter: () => this.enter() }) : null;
    return [h("div", { class: "write" }, parts, this.cannot), h("div", { class: "hand" }, pad, actions)];
  }

  unitPart() {
    const place = h("div", { class: "unit-place" });
    const draw = () => replace(place, unitChoice(this.field.kind, this.unit, (unit) => {
      this.unit = unit;
      sessionStorage.setItem("wearline-units", JSON.stringify({ ...unitMemory(), [this.field.kind]: unit }));
      draw();
      this.typed();
      this.input.focus();
    }));
    draw();
    return place;
  }

  focus() {
    const target = this.field.kind || this.field.text ? this.input : this.element.querySelector(".word");
    target?.focus({ preventScroll: true });
  }

  key(event) {
    if (this.saving && (event.key.length === 1 || event.key === "Enter") && !event.ctrlKey && !event.metaKey) {
      // An instrument types on while the last entry goes to disk: its signs wait for the next box.
      event.preventDefault();
      this.buffer += event.key === "Enter" ? "\n" : event.key;
    } else if (event.key === "Enter") {
      event.preventDefault();
      this.enter();
    }
  }

  // Reading as typed, or null with the reason shown.
  read() {
    try {
      return readTyped(this.step.field, this.field, this.input.value, this.unit);
    } catch (error) {
      if (!(error instanceof QuantityError)) throw error;
      this.problem = error;
      return null;
    }
  }

  typed() {
    this.problem = null;
    if (!this.input.value.trim()) {
      this.said.className = "said";
      this.showStanding();
      return;
    }
    const reading = this.read();
    if (!reading) {
      // A number is often unreadable half-way; what is impossible is worth a word at once.
      const impossible = this.problem.allowed === this.field.possible_text;
      replace(this.said, impossible ? `${this.problem.message}. ${this.problem.cure}` : "");
      this.said.className = impossible ? "said unclear" : "said";
      this.drawRuler(null);
    } else if (reading.kind === "measured") {
      this.showJudged(this.judge(this.more ? this.withRepeats(reading) : { ...reading, gauge: this.gauge ?? "" }), true);
    } else replace(this.said, reading.word);
  }

  judge(reading) {
    const gaugeU = gaugeUncertainty(this.draft.gauges, reading.gauge ?? "", this.field.kind);
    return { ...reading, ...judgeMeasured(this.step.field, this.step.spot, this.field, reading, this.limits, catalogue().decision,
      { gaugeU, combination: this.draft.vehicle.kind === "combination" }) };
  }

  withRepeats(reading) {
    const before = this.existing;
    const all = [...(before?.all ?? []), reading.value];
    return { ...reading, value: all.reduce((sum, each) => sum + each, 0) / all.length, repeats: all.length, all,
      gauge: before?.gauge ?? "", spread: Math.max(...all) - Math.min(...all) };
  }

  anchors() {
    const design = catalogue().designs[designOf(this.draft.state, this.step.place)] ?? Object.values(catalogue().designs)[0];
    if (this.step.field.startsWith("pad_")) return [design.friction_new, 0];
    if (this.step.field === "rotor_thickness") return [design.rotor_new];
    if (this.field.kind === "FRACTION") return [0, 1];
    return [];
  }

  drawRuler(judged) {
    const { field, step } = this;
    if (!field.kind) return;
    const spots = field.spots.length ? field.spots : [""];
    const readings = spots.map((spot) => {
      const active = spot === step.spot;
      const own = active && judged !== undefined ? judged : this.draft.verdict(step.place, step.field, spot);
      return { spot, active, value: own?.kind === "measured" ? own.value : null, u: own?.u ?? 0, verdict: own?.verdict ?? "", pWithin: own?.pWithin, resolution: own?.resolution };
    }).filter((reading) => spots.length > 1 || reading.value !== null);
    const known = judgeMeasured(step.field, step.spot, field, { value: judged?.value ?? 0, resolution: 0, repeats: 0 }, this.limits, catalogue().decision, { combination: this.draft.vehicle.kind === "combination" });
    const width = Math.max(300, Math.min(640, this.ruler.clientWidth || 360));
    replace(this.ruler, drawRuler({ kind: field.kind, unit: field.unit, name: field.label, readings, governing: judged?.limit ?? known.held[0]?.limit ?? null, limits: known.all, anchors: this.anchors() }, width));
  }

  showJudged(judged, typing = false) {
    this.drawRuler(judged);
    const p = judged.limit ? probabilityText(judged.pWithin) : "";
    const kind = this.field.kind === "TEMPERATURE" ? "TEMPERATURE_DIFFERENCE" : this.field.kind;
    const unit = this.field.kind === "TEMPERATURE" ? "K" : judged.limit?.unit ?? judged.unit;
    const margin = judged.limit ? `${numberText(Math.abs(differenceIn(judged.margin, unit, kind)), 2)} ${unitLabel(unit, kind)} ${judged.margin >= 0 ? t("to the limit") : t("past the limit")}` : "";
    const words = judged.verdict ? [h("strong", {}, t(judged.verdict)), p ? ` \u00b7 ${t("probability within")} ${p}` : "", margin ? ` \u00b7 ${margin}` : "",
      judged.because ? ` \u00b7 ${judged.because}` : ""] : [t("no limit decides this")];
    const shown = valueText(judged.value, judged.unit, this.field.kind, judged.resolution);
    this.said.className = "said";
    replace(this.said, typing ? [] : [h("span", { class: "shown" }, judged.repeats > 1 ? t("mean of {n}: {value}", { n: judged.repeats, value: shown }) : shown), " "], words,
      !typing && judged.event ? h("span", { class: "who" }, ` \u00b7 ${judged.from === "server" ? t("judged by the server") : t("judged on this tablet")}`) : null);
  }

  showStanding() {
    const reading = this.existing;
    const judged = reading ? this.draft.verdict(this.step.place, this.step.field, this.step.spot) : null;
    for (const button of this.element.querySelectorAll(".word")) button.setAttribute("aria-pressed", String(reading?.word === button.dataset.word));
    if (!reading) {
      replace(this.said, this.field.kind && !this.field.text ? t("Type the value; a unit behind it goes before the one shown.") : "");
      if (this.field.kind) this.drawRuler(undefined);
    } else if (reading.kind === "measured") this.showJudged(judged);
    else {
      replace(this.said, reading.kind === "cannot" ? [h("strong", {}, t("Cannot be measured")), `: ${reading.reason}`] : reading.kind === "unread" ? reading.problem : h("span", { class: "shown" }, reading.raw));
      if (this.field.kind) this.drawRuler(null);
    }
    if (reading) replace(this.kept, t("kept {time}", { time: clockText(reading.event.at) }), reading.event.by ? ` \u00b7 ${reading.event.by}` : "");
    this.showRepeats(judged);
  }

  showRepeats(judged) {
    this.element.classList.toggle("asking", Boolean(judged?.settle));
    if (!judged || judged.kind !== "measured") {
      replace(this.repeats);
      return;
    }
    const settle = judged.settle;
    const kind = this.field.kind === "TEMPERATURE" ? "TEMPERATURE_DIFFERENCE" : this.field.kind;
    const unit = this.field.kind === "TEMPERATURE" ? "K" : judged.limit?.unit ?? judged.unit;
    const advice = !settle ? "" : settle.kind === "repeats" ? t("Undecided: the mean of {n} readings would settle it, if it stays where it is.", { n: settle.n })
      : settle.kind === "limit" ? t("Undecided: the reading lies on the limit; no gauge decides it.")
        : t("Undecided: a gauge with U of {u} or better would settle it.", { u: valueText(settle.expanded, unit, kind, settle.expanded / 2) });
    replace(this.repeats, advice ? h("p", { class: "advice" }, advice) : null,
      judged.raws?.length > 1 ? h("p", { class: "raws" }, judged.raws.join(" \u00b7 ")) : null,
      judged.gauge ? h("p", { class: "raws" }, t("gauge: {gauge}", { gauge: judged.gauge })) : null,
      h("div", { class: "pair" }, h("button", { type: "button", class: "button", onclick: () => this.again() }, t("Measure again")),
        settle ? h("button", { type: "button", class: "button", onclick: () => this.askGauge() }, t("Better gauge")) : null));
  }

  again() {
    this.more = true;
    this.input.value = "";
    replace(this.said, plural((this.existing?.all?.length ?? 0) + 1, "Reading {n}", "Reading {n}: it is added to the others, and the mean counts."));
    this.input.focus();
  }

  askGauge() {
    const name = h("input", { type: "text", class: "line", id: "gauge-name", maxlength: 40 });
    const u = h("input", { type: "text", class: "line", id: "gauge-u", placeholder: "0.01 mm", maxlength: 20 });
    const problem = h("p", { class: "said unclear", role: "alert" });
    replace(this.cannot, h("label", { for: "gauge-name" }, t("Gauge")), name, h("label", { for: "gauge-u" }, t("Its standard uncertainty (half of U at k = 2), with its unit")), u, problem,
      h("div", { class: "pair" }, h("button", { type: "button", class: "button", onclick: () => this.closeAside() }, t("Leave it")),
        h("button", { type: "button", class: "button next", onclick: async () => {
          const label = name.value.trim();
          const given = { [label]: { u: u.value.trim() } };
          if (!label || !(gaugeUncertainty(given, label, this.field.kind) > 0)) {
            problem.textContent = t("Name the gauge, and write its uncertainty with a unit.");
            return;
          }
          this.gauge = label;
          this.more = false;
          this.closeAside();
          await this.save([{ kind: "fact", field: "gauges", value: { ...this.draft.gauges, ...given } }], { stay: true });
          this.prompted = true;
          replace(this.said, t("Now the reading with {gauge}.", { gauge: label }));
          replace(this.repeats);
          this.input.value = "";
          this.input.focus();
        } }, t("Take this gauge"))));
    this.cannot.hidden = false;
    name.focus();
  }

  askCannot() {
    const reason = h("input", { type: "text", class: "line", id: "reason", maxlength: 200, onkeydown: (event) => { if (event.key === "Enter") keep(); } });
    const keep = () => {
      const text = reason.value.trim();
      if (text) this.save([{ kind: "cannot", ...this.where(), value: text }]);
      else reason.focus();
    };
    replace(this.cannot, h("label", { for: "reason" }, t("Cannot be measured, because")), h("div", { class: "reasons" }, REASONS.map((text) =>
      h("button", { type: "button", class: "button", onclick: () => { reason.value = t(text); keep(); } }, t(text)))), reason,
    h("div", { class: "pair" }, h("button", { type: "button", class: "button", onclick: () => this.closeAside() }, t("Leave it")),
      h("button", { type: "button", class: "button next", onclick: keep }, t("Keep the reason"))));
    this.cannot.hidden = false;
    this.cannot.scrollIntoView({ block: "nearest" });
    reason.focus();
  }

  closeAside() {
    this.cannot.hidden = true;
    replace(this.cannot);
    this.focus();
  }

  where() { return { place: this.step.place, field: this.step.field, spot: this.step.spot }; }

  chooseWord(word) { return this.save([{ kind: "reading", ...this.where(), value: word }]); }

  remove() {
    // All of it: taking back the last correction alone would bring the entry before it back to life.
    const entries = entriesOf(this.draft.state, this.step.place, this.step.field, this.step.spot);
    return entries.length ? this.save(entries.map((event) => ({ kind: "retract", ...this.where(), refers: event.id })), { stay: true, rebuild: true }) : null;
  }

  enter() {
    if (this.saving) return undefined;
    if (!this.input.value.trim()) return this.go("next");
    const reading = this.read();
    if (!reading) {
      this.typed();
      replace(this.said, h("strong", {}, this.problem.message), this.problem.cure ? ` \u2014 ${this.problem.cure}.` : "");
      this.said.setAttribute("role", "alert");
      this.input.select();
      return undefined;
    }
    const event = { kind: "reading", ...this.where(), value: reading.word ?? reading.raw };
    if (this.gauge) event.gauge = this.gauge;
    if (this.more && this.existing?.kind === "measured") {
      const before = this.existing;
      event.repeats = [...(before.raws ?? [before.raw]), reading.raw];
      event.value = null;
      if (before.gauge) event.gauge = before.gauge;
    }
    return this.save([event]);
  }

  // On disk first; only then does the screen say so and go on.
  async save(parts, { stay = false, rebuild = false } = {}) {
    this.saving = true;
    this.element.classList.add("saving");
    try {
      await this.draft.add(parts);
    } catch (error) {
      this.saving = false;
      this.element.classList.remove("saving");
      replace(this.kept);
      replace(this.said, h("strong", {}, error.message), " ", t("What was typed still stands in the box."));
      this.said.className = "said unclear";
      this.said.setAttribute("role", "alert");
      this.report(error.message, true);
      return;
    }
    this.saving = false;
    this.element.classList.remove("saving");
    const [part] = parts;
    const kept = part.kind === "retract" ? t("taken back") : part.kind === "fact" ? t("kept") : t("{what} kept", { what: part.kind === "cannot" ? t("reason") : part.repeats ? part.repeats.at(-1) : part.value });
    this.report(`${[this.step.place, this.step.spot].filter(Boolean).join(" ")} ${kept}`.trim());
    if (rebuild) return void this.navigate(this.step);
    if (stay) return;
    this.prompted = false;
    const judged = this.draft.verdict(this.step.place, this.step.field, this.step.spot);
    this.input.value = "";
    if (judged?.kind === "measured" && judged.verdict === "undecided" && judged.settle) {
      this.more = true;
      this.gauge = undefined;
      this.showStanding();
      this.input.focus();
      this.replay(this);
    } else this.replay(this.go("next"));
  }

  replay(view) {
    const waiting = this.buffer;
    this.buffer = "";
    if (!view?.input || !waiting) return;
    const [first, ...rest] = waiting.split("\n");
    view.input.value += first;
    view.typed();
    if (rest.length) {
      view.buffer = rest.join("\n");
      view.enter();
    }
  }

  draw() {
    const values = {};
    for (const spot of this.field.spots) {
      const reading = this.draft.reading(this.step.place, this.step.field, spot);
      if (reading?.kind === "measured") values[spot] = reading.raw.replace(/ *[a-z"']+$/i, "");
    }
    const drawing = drawingFor(this.step.field, { side: this.step.place.slice(-1) || "L", spot: this.step.spot, values });
    replace(this.drawing, drawing ?? []);
    this.drawing.hidden = !drawing;
  }

  // The server's answer has come: only what is said is drawn anew, never the box.
  refresh() {
    if (!this.saving && !this.prompted && !this.input.value.trim() && !this.more) this.showStanding();
  }
}

export const miniSign = (judged) => sign(formOf(judged?.verdict));
