// Two views of the brake in own lines, and the instruments that are laid on them. Section: seen along the rotor
// surface, vehicle centre left, wheel right. Face: seen from the wheel, the pad in its carrier.
import { s } from "./dom.js";
import { hatch } from "./ruler.js";

export const path = (d, cls = "d-line", more = {}) => s("path", { d, class: cls, ...more });
export const label = (x, y, text, anchor = "middle", cls = "d-text") => s("text", { x, y, class: cls, "text-anchor": anchor }, text);

export function frame(title, ...parts) {
  return s("svg", { viewBox: "0 0 360 220", class: "drawing", role: "img", "aria-label": title }, ...parts);
}

const SECTION = {
  rotor: "M204 72H212V186H204ZM222 72H230V186H222ZM212 84H222M212 104H222M212 124H222M212 144H222M212 164H222",
  hub: "M200 186H258V212H200Z",
  fasteners: "M258 190H267V197H258M258 203H267V210H258",
  inner: "M182 80H201V140H182Z",
  innerPlate: "M172 76H182V144H172Z",
  outer: "M233 80H252V140H233Z",
  outerPlate: "M252 76H262V144H252Z",
  calliper: "M94 140Q84 140 84 130V52Q84 34 102 34H270Q286 34 286 50V140H266V62Q266 54 258 54H162V140Z",
  ear: "M100 140V160H136V140",
  pin: "M88 146H170V154H88Z",
  pinBoot: "M136 144L140 156L144 144L148 156L150 144",
  carrier: "M150 142H198V168H172V212H150ZM236 150H268V168H236Z",
  tappet: "M150 100H172V118H150",
  tappetBoot: "M156 96L160 122L164 96L168 122",
  chamber: "M84 84H72V72Q44 66 30 80Q18 92 18 106Q18 122 30 132Q44 146 72 140V128H84M56 70V142",
  hose: "M26 86Q8 70 14 40Q18 22 40 18",
  stem: "M84 46H72V60H84M72 49H66V57H72",
  retainer: "M172 70Q217 56 262 70",
  ring: "M200 186V181H196V186H192V181H188V186",
  sensor: "M150 190H184V200H150Z",
  seal: "M200 204V212M196 204V212",
};

// The section with some parts drawn strongly, the rest quietly.
export function section(strong = [], hidden = []) {
  const order = ["hose", "chamber", "hub", "fasteners", "rotor", "innerPlate", "inner", "outerPlate", "outer", "tappet", "tappetBoot", "carrier",
    "pin", "ear", "pinBoot", "calliper", "stem", "retainer", "ring", "sensor", "seal"];
  const filled = new Set(["calliper", "chamber", "carrier", "hub", "innerPlate", "outerPlate", "sensor"]);
  return s("g", {}, order.filter((name) => !hidden.includes(name)).map((name) =>
    path(SECTION[name], `${strong.includes(name) ? "d-strong" : "d-soft"}${filled.has(name) ? " d-body" : " d-open"}`)),
  path((hidden.includes("inner") ? "" : hatch(182, 80, 201, 140, 7)) + (hidden.includes("outer") ? "" : hatch(233, 80, 252, 140, 7)), "d-grain"));
}

const CENTRE = [180, 330];
export function polar(radius, degrees) {
  const angle = ((degrees - 90) * Math.PI) / 180;
  return [CENTRE[0] + radius * Math.cos(angle), CENTRE[1] + radius * Math.sin(angle)];
}
const at = (radius, degrees) => polar(radius, degrees).map((each) => each.toFixed(1)).join(" ");
export const arcBand = (outer, inner, from, to) =>
  `M${at(outer, from)}A${outer} ${outer} 0 0 1 ${at(outer, to)}L${at(inner, to)}A${inner} ${inner} 0 0 0 ${at(inner, from)}Z`;

const FACE = {
  rotor: `M${at(272, -38)}A272 272 0 0 1 ${at(272, 38)}M${at(178, -52)}A178 178 0 0 1 ${at(178, 52)}`,
  pad: arcBand(265, 186, -21, 21),
  carrierLeft: `M${at(262, -22)}L${at(262, -29)}L${at(166, -34)}L${at(166, 34)}L${at(262, 29)}L${at(262, 22)}L${at(184, 22)}A184 184 0 0 0 ${at(184, -22)}Z`,
  bridge: arcBand(318, 286, -11, 11),
};

export function face(strong = [], { side = "L", hidden = [] } = {}) {
  const rows = ["rotor", "carrierLeft", "pad", "bridge"].filter((name) => !hidden.includes(name));
  const left = side === "R";
  // Seen from the wheel, the rotor of a left wheel passes the pad from right to left, that of a right wheel the
  // other way.
  const [from, to] = left ? [-26, -12] : [26, 12];
  const tip = at(296, to);
  const turn = `M${at(296, from)}A296 296 0 0 ${left ? 1 : 0} ${tip}`;
  const [tx, ty] = polar(296, to);
  const back = left ? -1 : 1;
  return s("g", {}, rows.map((name) => path(FACE[name], `${strong.includes(name) || (name === "carrierLeft" && strong.includes("carrier")) ? "d-strong" : "d-soft"} ${name === "rotor" ? "d-open" : "d-body"}`)),
    path(turn, "d-soft d-open"), path(`M${tx + back * 9} ${ty - 4}L${tx} ${ty}L${tx + back * 7} ${ty + 7}`, "d-soft d-open"),
    label(left ? 36 : 324, 74, "leading", "middle", "d-note"), label(left ? 324 : 36, 74, "trailing", "middle", "d-note"));
}

// ------------------------------------------------------------------ instruments and marks

export function dial(x, y, tipX, tipY) {
  const length = Math.hypot(tipX - x, tipY - y);
  const [ux, uy] = [(tipX - x) / length, (tipY - y) / length];
  const edge = 19;
  return s("g", {}, path(`M${x + ux * edge} ${y + uy * edge}L${tipX - ux * 5} ${tipY - uy * 5}`, "g-stem"),
    s("circle", { cx: tipX - ux * 4, cy: tipY - uy * 4, r: 3.6, class: "g-tip" }),
    s("circle", { cx: x, cy: y, r: edge, class: "g-body" }),
    path(`M${x} ${y - 15}V${y - 11}M${x + 15} ${y}H${x + 11}M${x - 15} ${y}H${x - 11}M${x} ${y + 15}V${y + 11}`, "g-line"),
    path(`M${x} ${y}L${x + 8} ${y - 9}`, "g-needle"), s("circle", { cx: x, cy: y, r: 2, class: "g-tip" }));
}

export const base = (fromX, fromY, toX, toY) => s("g", {}, path(`M${fromX} ${fromY}L${toX} ${toY}`, "g-line"),
  s("rect", { x: toX - 9, y: toY - 4, width: 18, height: 9, class: "g-body" }));

export function arrow(x1, y1, x2, y2, both = true) {
  const angle = Math.atan2(y2 - y1, x2 - x1);
  const head = (x, y, turn) => [-0.5, 0.5].map((spread) =>
    `M${x} ${y}L${(x - 9 * Math.cos(angle + turn + spread)).toFixed(1)} ${(y - 9 * Math.sin(angle + turn + spread)).toFixed(1)}`).join("");
  return path(`M${x1} ${y1}L${x2} ${y2}${head(x2, y2, 0)}${both ? head(x1, y1, Math.PI) : ""}`, "g-move");
}

export const extent = (x1, x2, y, from = y - 14, to = y + 4) =>
  s("g", {}, path(`M${x1} ${from}V${to}M${x2} ${from}V${to}`, "g-thin"), arrow(x1, y, x2, y));

// A jaw micrometer with points instead of flat faces, over the rim of the rotor.
export const micrometer = (x1, x2, y, depth = 52) => s("g", { transform: `matrix(1 0 0 -1 0 ${2 * y})` },
  path(`M${x1 - 8} ${y}H${x1}M${x2} ${y}H${x2 + 34}`, "g-stem"),
  path(`M${x1 - 8} ${y - 9}H${x1 - 20}V${y + depth}H${x2 + 44}V${y - 9}H${x2 + 30}V${y + 9}H${x2 + 32}V${y + depth - 12}H${x1 - 8}Z`, "g-body"),
  path(`M${x2 + 44} ${y - 6}H${x2 + 78}V${y + 6}H${x2 + 44}M${x2 + 56} ${y - 6}V${y + 6}M${x2 + 66} ${y - 6}V${y + 6}`, "g-body"));

export const eye = (x, y, scale = 1) => s("g", { transform: `translate(${x} ${y}) scale(${scale})` },
  path("M-20 0Q0 -19 20 0Q0 19 -20 0Z", "g-body"), s("circle", { cx: 0, cy: 0, r: 6, class: "g-tip" }));

export const lookAt = (fromX, fromY, toX, toY) => s("g", {}, path(`M${fromX} ${fromY}L${toX} ${toY}`, "g-sight"),
  s("circle", { cx: toX, cy: toY, r: 15, class: "g-ring" }), eye(fromX, fromY, 0.9));

export const wrench = (x, y) => s("g", {}, s("circle", { cx: x, cy: y, r: 12, class: "g-body" }),
  path(`M${x - 6} ${y + 11}L${x - 26} ${y + 56}L${x - 16} ${y + 60}L${x + 4} ${y + 13}`, "g-body"),
  path(`M${x - 46} ${y + 40}A54 54 0 0 0 ${x - 20} ${y + 76}`, "g-move"));

export const pullScale = (x, y) => s("g", {}, path(`M${x} ${y}H${x - 16}`, "g-stem"),
  s("rect", { x: x - 66, y: y - 10, width: 50, height: 20, rx: 4, class: "g-body" }),
  path(`M${x - 58} ${y - 5}V${y + 5}M${x - 48} ${y - 5}V${y + 5}M${x - 38} ${y - 5}V${y + 5}M${x - 28} ${y - 5}V${y + 5}`, "g-line"));
