// The vehicle from above, front up: the wheel ends are where they are, and each is a way in.
import { h, replace, s } from "./dom.js";
import { sign } from "./ruler.js";
import { t } from "./words.js";

const PITCH = 92;
const GROUP_GAP = 46;
const UNIT_GAP = 56;
const TOP = 78;
const WIDTH = 150;
const CENTRE = WIDTH / 2;
const TRACK = 52;

function rowsOf(axles) {
  let y = TOP;
  return axles.map((axle, index) => {
    const before = axles[index - 1];
    if (before) {
      y += PITCH;
      if (axle.id.startsWith("T") && !before.id.startsWith("T")) y += UNIT_GAP;
      else if (before.role === "steer" && axle.role !== "steer") y += GROUP_GAP;
    }
    return y;
  });
}

function body(top, bottom, { cab, bus }) {
  const half = 31;
  const parts = [s("rect", { x: CENTRE - half, y: top, width: 2 * half, height: bottom - top, rx: bus ? 11 : 3, class: "s-rule f-none", "stroke-width": 1.8 })];
  if (bus) parts.push(s("path", { d: `M${CENTRE - half + 6} ${top + 11}H${CENTRE + half - 6}`, class: "s-rule", "stroke-width": 1.4 }));
  if (cab) parts.push(s("path", { d: `M${CENTRE - half} ${top + 24}H${CENTRE + half}M${CENTRE - half + 7} ${top + 7}H${CENTRE + half - 7}`, class: "s-rule", "stroke-width": 1.6 }));
  return parts;
}

function silhouette(vehicle, axles, rows) {
  const height = (rows.at(-1) ?? TOP) + 60;
  const svg = s("svg", { viewBox: `0 0 ${WIDTH} ${height}`, width: WIDTH, height, class: "silhouette", "aria-hidden": "true" });
  svg.append(s("path", { d: `M${CENTRE} 30V9M${CENTRE - 5} 15L${CENTRE} 8L${CENTRE + 5} 15`, class: "s-muted f-none", "stroke-width": 1.8 }));
  const towed = rows.filter((_, index) => axles[index].id.startsWith("T"));
  const towing = rows.filter((_, index) => !axles[index].id.startsWith("T"));
  const pulled = ["semitrailer", "drawbar trailer"].includes(vehicle.kind);
  if (towing.length) svg.append(...body(towing[0] - 42, towing.at(-1) + 44, { cab: !pulled && vehicle.kind !== "bus", bus: vehicle.kind === "bus" }));
  if (towed.length) {
    svg.append(...body(towed[0] - 42, towed.at(-1) + 44, { cab: false, bus: false }));
    if (towing.length) svg.append(s("path", { d: `M${CENTRE} ${towing.at(-1) + 44}V${towed[0] - 42}`, class: "s-rule", "stroke-width": 1.8 }));
  }
  axles.forEach((axle, index) => {
    const y = rows[index];
    svg.append(s("line", { x1: CENTRE - TRACK, x2: CENTRE + TRACK, y1: y, y2: y, class: "s-rule", "stroke-width": 3 }));
    for (const side of [-1, 1]) {
      for (const edge of axle.wheels === "dual" ? [TRACK, TRACK - 17] : [TRACK]) {
        svg.append(s("rect", { x: CENTRE + side * edge - 7, y: y - 19, width: 14, height: 38, rx: 4, class: "f-tyre" }));
      }
    }
    svg.append(s("rect", { x: CENTRE - 28, y: y - 10, width: 56, height: 20, class: "f-paper" }),
      s("text", { x: CENTRE, y: y + 5, class: "f-muted", "font-size": 13, "font-style": "italic", "text-anchor": "middle" }, axle.brake === "drum" ? t("drum") : axle.role));
  });
  return { svg, height };
}

export function worstOf(counts) {
  return counts.beyond ? "beyond" : counts.undecided ? "undecided" : counts.within ? "within" : counts.void ? "void" : "nothing";
}

export function countWords(counts) {
  const words = [];
  if (counts.beyond) words.push(t("{n} beyond", { n: counts.beyond }));
  if (counts.undecided) words.push(t("{n} undecided", { n: counts.undecided }));
  if (!words.length) words.push(counts.within ? t("within so far") : counts.taken ? t("noted") : t("nothing taken"));
  return words.slice(0, 2);
}

// wheelEnds: place -> {href, counts, current, drum}. The links stand in reading order, front to rear.
export function drawVehicle(vehicle, axles, wheelEnds, element = h("div")) {
  const rows = rowsOf(axles);
  const { svg, height } = silhouette(vehicle, axles, rows);
  const list = h("ul", { class: "ends" });
  list.style.height = `${height}px`;
  axles.forEach((axle, index) => {
    for (const side of ["L", "R"]) {
      const place = `${axle.id}${side}`;
      const end = wheelEnds.get(place);
      if (!end) continue;
      const words = end.drum ? [t("drum brake")] : countWords(end.counts);
      const item = h("li", { class: `end ${side === "L" ? "left" : "right"}` },
        h("a", { href: end.href, class: "end-link", "aria-current": end.current ? "true" : null },
          h("span", { class: "end-name" }, place), end.drum ? null : sign(worstOf(end.counts)),
          h("span", { class: "end-words" }, words.map((word) => h("span", {}, word, h("span", { class: "visually-hidden" }, ", "))),
            end.drum ? null : h("span", { class: "end-taken" }, `${end.counts.taken} / ${end.counts.all}`, h("span", { class: "visually-hidden" }, ` ${t("taken")}`)))));
      item.style.top = `${rows[index] - 40}px`;
      list.append(item);
    }
  });
  return replace(element, svg, list);
}
