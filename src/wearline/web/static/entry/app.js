// The form's frame: which view stands, the line that always says what is not sent, and the way back.
import { catalogue, loadCatalogue } from "./catalogue.js";
import { CheckView } from "./check_view.js";
import { h, replace } from "./dom.js";
import { Draft, otherTabs } from "./draft.js";
import { endView } from "./end_view.js";
import { keyOf } from "./order.js";
import { settleView } from "./settle_view.js";
import { startView } from "./start_view.js";
import * as store from "./store.js";
import { ask, count, onStatus, start as startSync } from "./sync.js";
import { isSecure, saveQueue, tabletView } from "./tablet_view.js";
import { map, walkView } from "./walk_view.js";
import { plural, t } from "./words.js";

const main = document.querySelector("main");
const rail = document.querySelector("#rail");
const bar = document.querySelector("#bar");
const toast = document.querySelector("#report");
let draft = null;
let view = null;
let drawing = 0;

const enc = encodeURIComponent;
const endLink = (place) => `#/d/${draft.id}/${place ? enc(place) : "vehicle"}`;
const stepLink = (step) => `#/d/${draft.id}/${step.place ? enc(step.place) : "vehicle"}/${enc(step.check)}/${enc(step.field)}${step.spot ? `/${enc(step.spot)}` : ""}`;
const openLink = () => `#/d/${draft.id}/open`;

export function report(text, bad = false) {
  replace(toast, text);
  toast.className = bad ? "report bad" : "report";
  toast.setAttribute("aria-live", bad ? "assertive" : "polite");
  clearTimeout(report.timer);
  if (!bad) report.timer = setTimeout(() => { toast.className = "report gone"; }, 4000);
}

function open(hash, { focus = true, same = false } = {}) {
  if (same) history.replaceState(null, "", hash);
  else history.pushState(null, "", hash);
  return route({ focus });
}

function openStep(step) {
  const hash = stepLink(step);
  history.pushState(null, "", hash);
  return showStep(step);
}

// From one reading to the next: at this wheel end first, as the steps are in that order.
function goFrom(step) {
  return (how) => {
    const index = draft.steps.findIndex((each) => keyOf(each) === keyOf(step));
    const next = how === "skip" ? draft.steps[index + 1] : draft.nextOpen(step);
    if (!next) {
      open(openLink());
      return null;
    }
    return openStep(next);
  };
}

function showStep(step) {
  view = new CheckView({ draft, step, go: goFrom(step), report, navigate: (to) => { history.replaceState(null, "", stepLink(to)); return showStep(to); } });
  replace(main, view.element);
  main.className = "checking";
  drawRail(step.place);
  drawBar([[`#/d/${draft.id}`, draft.vehicle.id], [endLink(step.place), step.place || t("vehicle")]]);
  document.title = `${step.place} ${catalogue().fields[step.field].label}`.trim();
  view.drawRuler(view.existing ? draft.verdict(step.place, step.field, step.spot) : undefined);
  view.focus();
  scrollTo(0, 0);
  return view;
}

function drawRail(place = null) {
  rail.hidden = !draft;
  if (draft) replace(rail, map(draft, endLink, place));
}

function drawBar(trail) {
  const crumbs = bar.querySelector("#trail");
  replace(crumbs, h("a", { href: "#/", class: "mark", "aria-label": t("Vehicles") }, mark()), trail.map(([href, text]) => h("a", { href }, text)));
}

const mark = () => {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("viewBox", "0 0 32 24");
  svg.setAttribute("aria-hidden", "true");
  for (const [d, cls] of [["M2 19H30", "s-ink"], ["M20 3V22", "s-beyond"], ["M21 18L29 8M25 18L30 12", "s-beyond"], ["M10 8A4 4 0 1 0 10.01 8Z", "f-good"]]) {
    const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
    path.setAttribute("d", d);
    path.setAttribute("class", cls);
    path.setAttribute("stroke-width", "2");
    svg.append(path);
  }
  return svg;
};

// What came in is shown, but never under the hands of the person: the box and the place of the focus stay.
function freshen() {
  if (view instanceof CheckView) {
    view.refresh();
    drawRail(view.step.place);
  } else if (location.hash.startsWith("#/d/") && document.activeElement.matches("body, main, h1")) route({ focus: false });
}

async function openDraft(id) {
  if (draft?.id === id) return draft;
  const found = await Draft.load(id);
  if (!found.state.start) return null;
  draft = found;
  draft.listeners.add(freshen);
  draft.askServer();
  return draft;
}

export async function route({ focus = true } = {}) {
  const turn = (drawing += 1);
  const [, what, id, ...rest] = location.hash.split("/").map(decodeURIComponent);
  const put = (element, trail, title) => {
    if (turn !== drawing) return;
    view = element;
    replace(main, element);
    main.className = "";
    drawBar(trail);
    document.title = title;
    if (focus) element.querySelector("h1")?.focus({ preventScroll: true });
    if (focus) scrollTo(0, 0);
  };
  if (what === "tablet") return put(await tabletView({ report }), draft ? [[`#/d/${draft.id}`, draft.vehicle.id]] : [], t("This tablet"));
  if (what !== "d" || !(await openDraft(id))) {
    draft = null;
    drawRail();
    return put(await startView({ report, open: (each) => open(`#/d/${each}`) }), [], t("Readings"));
  }
  const place = rest[0] === "vehicle" ? "" : rest[0];
  const options = { draft, endLink, stepLink, openLink: openLink(), report, place, rerender: () => route({ focus: false }) };
  const trail = [[`#/d/${draft.id}`, draft.vehicle.id]];
  if (rest.length === 0) {
    rail.hidden = true;
    return put(walkView(options), trail, draft.vehicle.id);
  }
  if (rest[0] === "open") {
    drawRail();
    return put(settleView(options), trail, t("What is open"));
  }
  if (rest.length === 1) {
    drawRail(place);
    return put(endView(options), [...trail, [endLink(place), place || t("vehicle")]], `${draft.vehicle.id} ${place}`);
  }
  const [, check, field, spot = ""] = rest;
  const step = draft.steps.find((each) => each.place === place && each.field === field && each.spot === spot) ?? draft.steps[0];
  return showStep({ ...step, check: catalogue().checks[check] ? check : step.check });
}

function showStatus(status) {
  const pill = bar.querySelector("#unsent");
  if (status.waiting === null) return;
  const words = plural(status.waiting, "{n} not sent", "{n} not sent");
  const state = { reached: t("server reached"), sending: t("sending"), offline: t("no network"), login: t("log in again"), refused: t("server refused"), waiting: "" }[status.state] ?? "";
  replace(pill, h("span", { class: "count" }, words), state ? h("span", { class: "state" }, state) : null);
  pill.classList.toggle("has", status.waiting > 0);
}

function wedge(event) {
  // An instrument types wherever the focus is: its signs belong into the reading's box.
  if (event.ctrlKey || event.metaKey || event.altKey || !(view instanceof CheckView)) return;
  const inBox = event.target.matches?.("input, textarea, select");
  if (event.key === "Escape") {
    event.preventDefault();
    if (!view.cannot.hidden) view.closeAside();
    else open(endLink(view.step.place));
  } else if (!inBox && /^[0-9.,+-]$/.test(event.key)) {
    const words = view.element.querySelectorAll(".word");
    if (view.field.kind) {
      event.preventDefault();
      view.input.focus();
      view.input.value += event.key;
      view.typed();
    } else if (words[Number(event.key) - 1]) words[Number(event.key) - 1].click();
  }
}

async function registerWorker() {
  if (!isSecure() || !("serviceWorker" in navigator)) return;
  try {
    await navigator.serviceWorker.register("/entry/sw.js", { scope: "/entry" });
    await navigator.serviceWorker.ready;
    document.documentElement.dataset.offline = "ready";
  } catch (error) {
    report(t("The form is not stored for work without a network: {why}", { why: error.message }), true);
  }
}

function fatal(error) {
  replace(main, h("article", { class: "sheet" }, h("h1", { tabindex: "-1" }, t("The form could not begin")), h("p", { class: "notice" }, error.message),
    h("div", { class: "pair" }, h("button", { type: "button", class: "button next", onclick: () => location.reload() }, t("Try again")), h("button", { type: "button", class: "button", onclick: () => saveQueue(report) }, t("Save what is not sent to a file")))));
}

async function begin() {
  document.querySelector("#insecure").hidden = isSecure();
  const worker = registerWorker();
  try {
    await store.tabletId();
    await loadCatalogue();
  } catch (error) {
    fatal(error);
    return;
  }
  document.documentElement.classList.toggle("left-hand", (await store.getMeta("hand")) === "left");
  await count();
  onStatus(showStatus);
  addEventListener("popstate", () => route());
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.('a[href^="#"]');
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (link.getAttribute("href") === "#main") return void (view instanceof CheckView ? view.focus() : main.focus());
    if (link.getAttribute("aria-disabled")) return;
    open(link.getAttribute("href"));
  });
  document.addEventListener("keydown", wedge);
  addEventListener("wearline-draft", async (event) => {
    if (event.detail.id === draft?.id) {
      await draft.reload();
    }
  });
  otherTabs.onmessage = async (message) => {
    if (message.data.draft === draft?.id) await draft.reload();
  };
  addEventListener("resize", () => { if (view instanceof CheckView) view.showStanding(); });
  await route();
  document.documentElement.dataset.ready = "yes";
  await navigator.storage?.persist?.().catch(() => false);
  ask("/api/1/vehicles", { timeout: 8000 }).then((answer) => store.setCache("vehicles", answer.vehicles ?? answer)).catch(() => {});
  await worker;
  startSync();
}

begin();
