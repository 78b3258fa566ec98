// Where the gauge goes: one drawing for each group of checks.
import { s } from "./dom.js";
import { arcBand, arrow, base, dial, extent, eye, face, frame, label, lookAt, micrometer, path, polar, pullScale, section, wrench } from "./drawing_parts.js";
import { hatch } from "./ruler.js";
import { t } from "./words.js";

const line = (text) => t(text);
// Away from the calliper, at another place of the turn: rotor, hub and what does not turn.
const AWAY = ["inner", "outer", "innerPlate", "outerPlate", "calliper", "tappet", "tappetBoot", "pin", "pinBoot", "ear", "stem", "retainer", "hose", "chamber", "sensor"];

function indicator() {
  return frame(line("The mark on the guide pin against its scale, read square on"),
    path("M40 96H320V124H40Z", "d-strong d-body"), path("M40 84H96V136H40Z", "d-soft d-body"),
    path("M150 96V82M190 96V82M230 96V82M270 96V82M310 96V82", "d-line"),
    ["0", "25", "50", "75", "100 %"].map((text, index) => label(150 + 40 * index, 76, text)),
    path("M96 90H214V130H96Z", "d-soft d-body"), path("M214 84V136", "g-move"), path("M208 146L214 136L220 146Z", "g-tip"),
    path("M214 60V36", "g-sight"), eye(214, 26), label(140, 166, line("calliper"), "middle", "d-note"), label(290, 146, line("pin"), "middle", "d-note"));
}

function opening() {
  return frame(line("Both pads seen through the opening over the rotor"), section(["inner", "outer"], ["stem", "retainer"]),
    path("M172 34H262V54H172Z", "d-window"), path("M217 20V62", "g-sight"), eye(217, 14, 0.8),
    extent(182, 201, 154), extent(233, 252, 154), label(217, 178, line("friction only, both pads"), "middle", "d-text d-over"));
}

const padCorner = (side, spot) => {
  const leading = side === "R" ? -1 : 1;
  const sign = spot[0] === "L" ? leading : -leading;
  return polar(spot[1] === "T" ? 252 : 199, sign * (spot[1] === "T" ? 17.5 : 16.5));
};

// The pad as it sits in the brake, seen from the wheel; the corner that is asked for is strong.
export function padCorners({ side = "L", field, spot, values = {} }) {
  const corners = ["LT", "LB", "TT", "TB"].map((name) => {
    const [x, y] = padCorner(side, name);
    const active = name === spot;
    const text = values[name] || name;
    const outward = (x > 180 ? 1 : -1) * (name[1] === "T" ? 6 : 4);
    return s("g", {}, active ? s("circle", { cx: x, cy: y, r: 15, class: "g-ring" }) : null,
      s("circle", { cx: x, cy: y, r: active ? 6 : 4, class: active ? "g-tip" : values[name] ? "f-good" : "f-muted" }),
      label(x - outward * 4.6, y + 4.5, text, x > 180 ? "end" : "start", active ? "d-text strong" : "d-text"));
  });
  const which = field === "pad_outer" ? line("outer pad, wheel side") : line("inner pad, piston side");
  return frame(t("{which}: corner {spot}, 5 mm inside the edges", { which, spot }), face([], { side, hidden: ["bridge"] }),
    path(arcBand(265, 186, -21, 21), "d-strong d-body"), corners, label(180, 205, which, "middle", "d-text strong"));
}

function travel() {
  return frame(line("Dial on the calliper body, its base on the carrier; rock the calliper in and out"),
    section(["calliper", "rotor", "inner", "outer"], ["retainer", "stem"]), base(312, 190, 252, 172), path("M312 190V116", "g-line"),
    dial(326, 96, 287, 96), arrow(100, 20, 150, 20), label(166, 24, line("rock in and out"), "start"));
}

function tangentialPlay({ side }) {
  return frame(line("Dial at the bridge along the rotor surface, base on the carrier; push to both ends"),
    face(["bridge", "carrier"], { side }), base(292, 132, 274, 104), path("M292 132V40", "g-line"), dial(280, 28, 241, 28), arrow(96, 24, 136, 24),
    label(180, 208, line("push leading, then trailing"), "middle"));
}

function radialPlay() {
  return frame(line("Dial on the bridge across the rotor edge; lift and press; gap to the rotor about 19 mm"),
    section(["calliper", "rotor"], ["retainer", "hose"]), dial(326, 22, 287, 40), path("M326 41V176H268", "g-line"), base(300, 176, 256, 164),
    arrow(132, 8, 132, 32), arrow(217, 54, 217, 72), label(6, 210, line("gap to the rotor 19 mm (3/4 in)"), "start"), path("M206 63Q130 120 110 192", "g-sight"));
}

function slide() {
  return frame(line("Push and pull the calliper over its full length on the pins, pads out"),
    section(["calliper", "pin", "pinBoot"], ["inner", "outer", "innerPlate", "outerPlate", "hose", "retainer"]),
    pullScale(84, 160), arrow(110, 20, 250, 20), label(180, 207, line("the whole way, not only the used length"), "middle"));
}

function pinBoot() {
  return frame(line("Guide pin with its boot: pull the calliper, the boot draws in, count to ten"),
    path("M20 70H120V150H20Z", "d-soft d-body"), path("M250 60H340V160H250Z", "d-soft d-body"), path("M60 100H300V120H60Z", "d-strong d-body"),
    path("M120 84Q136 94 140 84Q150 98 158 86Q170 100 180 88Q192 100 202 88Q214 98 224 86Q236 94 250 84", "d-strong d-open"),
    path("M120 136Q136 126 140 136Q150 122 158 134Q170 120 180 132Q192 120 202 132Q214 122 224 134Q236 126 250 136", "d-strong d-open"),
    arrow(185, 62, 185, 82, false), arrow(185, 158, 185, 138, false), arrow(100, 182, 30, 182, false), label(116, 187, line("pull and hold"), "start"),
    label(70, 60, line("calliper"), "middle", "d-note"), label(295, 50, line("carrier"), "middle", "d-note"), path("M118 84H126M118 136H126M244 84H254M244 136H254", "g-move"));
}

function tappetBoot() {
  return frame(line("Tappets wound out a little, boots seen all round"),
    section(["tappet", "tappetBoot"], ["hose", "retainer", "inner", "innerPlate"]), lookAt(236, 166, 164, 112),
    extent(162, 172, 132, 120, 136));
}

function adjuster() {
  return frame(line("Wrench on the adjuster stem, with room to turn"), section(["stem", "chamber"], ["hose", "retainer"]),
    wrench(69, 53), label(250, 20, line("about 2 bar, 5 to 10 times"), "middle"));
}

function abutments({ side }) {
  const faces = [[-21.6, 224], [21.6, 224], [-14, 183], [14, 183]].map(([angle, radius]) => {
    const [x, y] = polar(radius, angle);
    return s("circle", { cx: x, cy: y, r: 7, class: "g-tip" });
  });
  return frame(line("The carrier's faces: two at each end of each pad, eight in all"), face(["carrier"], { side, hidden: ["pad", "bridge"] }),
    faces, label(180, 110, line("4 faces here,"), "middle"), label(180, 127, line("4 at the other pad"), "middle"), label(180, 209, line("draw a fingernail along each"), "middle"));
}

function padFreedom({ side }) {
  return frame(line("Slide the pad in the carrier by hand"), face(["pad", "carrier"], { side, hidden: ["bridge"] }), arrow(140, 100, 220, 100),
    label(180, 132, line("free, without rattle"), "middle"));
}

function rotorThickness({ points }) {
  return frame(line("Micrometer with points inside the lip, away from the calliper"), section(["rotor"], AWAY),
    path("M203 72V80H206M231 72V80H228", "d-line"), micrometer(204, 230, 122, 64), label(176, 76, line("lip"), "end", "d-note"), label(150, 126, points, "end"));
}

function rotorDial() {
  return frame(line("Dial square on the face, 10 to 15 mm from the rim, one slow turn"),
    section(["rotor"], AWAY), dial(292, 92, 231, 88), path("M292 111V130H262", "g-line"), base(262, 130, 252, 138), path("M150 72H200M150 88H226", "g-thin"), arrow(160, 56, 160, 71, false),
    arrow(160, 104, 160, 89, false), label(146, 85, line("10 to 15 mm"), "end"), path("M190 116A30 11 0 1 0 246 122", "g-move"), label(150, 124, line("one slow turn"), "end"));
}

function endPlay() {
  return frame(line("Dial along the axis on the hub face; pull and push while rocking"), section(["hub", "rotor"], ["hose", "retainer", "stem"]),
    dial(312, 178, 259, 200), arrow(216, 217, 252, 217), label(6, 204, line("on the hub, not the rim"), "start"));
}

function hubFace() {
  return frame(line("Rotor off: dial on the hub face, one slow turn"), section(["hub"], [...AWAY, "rotor"]),
    dial(312, 178, 259, 200), path("M196 160A26 10 0 1 0 240 168", "g-move"));
}

function cracks() {
  return frame(line("Length of a crack along the radius as a share of the face width"), path(arcBand(272, 178, -34, 34), "d-strong d-body"),
    path("M180 92L176 104L182 116L178 128L181 138", "g-crack"), path("M120 88L124 96M232 92L228 100M150 82L151 90M214 120L210 127M130 120L134 128", "d-soft d-open"),
    path("M262 90L242 172", "g-thin"), arrow(264, 98, 247, 168), label(282, 140, line("face"), "start"), arrow(196, 92, 196, 138), label(204, 119, line("crack"), "start"),
    label(180, 207, line("both faces, edges, neck and vanes"), "middle"));
}

function scoring() {
  return frame(line("Depth gauge over the deepest groove"),
    path("M30 120H120L128 134L136 120H200L212 152L224 120H290V104H330V200H30Z", "d-strong d-body"), path(hatch(30, 156, 330, 200, 14), "d-grain"),
    path("M168 96H256V110H168Z", "g-body"), path("M208 40V96M216 40V96M212 110V150", "g-stem"), path("M200 40H224V70H200Z", "g-body"),
    extentDown(268, 120, 152), label(300, 140, line("depth"), "start"), label(316, 96, line("lip"), "middle", "d-note"));
}

const extentDown = (x, y1, y2) => s("g", {}, path(`M${x - 12} ${y1}H${x + 6}M${x - 40} ${y2}H${x + 6}`, "g-thin"), arrow(x, y1, x, y2));

function roller() {
  return frame(line("Each wheel on the rollers: free, rising, highest, released"), s("circle", { cx: 180, cy: 84, r: 72, class: "d-strong d-body" }),
    s("circle", { cx: 180, cy: 84, r: 40, class: "d-soft d-open" }), s("circle", { cx: 138, cy: 176, r: 30, class: "d-soft d-body" }), s("circle", { cx: 222, cy: 176, r: 30, class: "d-soft d-body" }),
    path("M166 188A30 30 0 0 1 118 200M250 188A30 30 0 0 1 202 200", "g-move"), arrow(180, 156, 262, 156, false), label(268, 148, line("force at the tyre"), "start", "d-text"), path("M20 206H100M260 206H340", "d-line"));
}

function infrared() {
  return frame(line("The same spot at every end: edge of the rotor, or calliper"), section(["rotor", "calliper"], ["retainer"]),
    path("M300 150H340V166H326L330 200H312L308 166H300Z", "g-body"), path("M300 158L218 74", "g-sight"), s("circle", { cx: 217, cy: 73, r: 7, class: "g-ring" }));
}

function air() {
  return frame(line("Soap film at clamp, ports and vents; listen"), section(["chamber", "hose"], ["retainer"]),
    [[56, 62], [50, 152], [20, 106]].map(([x, y]) => s("g", {}, s("circle", { cx: x, cy: y, r: 6, class: "g-ring" }), s("circle", { cx: x + 10, cy: y - 6, r: 4, class: "g-ring" }))), label(200, 20, line("about 6 bar, then listen"), "middle"));
}

function action() {
  return frame(line("The calliper moves inboard on application and comes back"), section(["calliper"], ["retainer"]), arrow(240, 20, 130, 20), eye(330, 90), path("M310 90H290", "g-sight"));
}

function freeTurning() {
  return frame(line("Wheel up, brake released: one full turn by hand"), s("circle", { cx: 180, cy: 104, r: 84, class: "d-strong d-body" }), s("circle", { cx: 180, cy: 104, r: 46, class: "d-soft d-open" }),
    path("M276 60A106 106 0 0 1 258 178", "g-move"), path("M264 166L256 180L272 180", "g-move"), path("M60 206H300", "d-line"), path("M150 206V196H210V206", "d-soft d-body"));
}

function gaugeAir() {
  return frame(line("Pressure gauge, engine stopped, one minute"), s("circle", { cx: 180, cy: 104, r: 78, class: "g-body" }),
    path("M124 150L132 143M112 104H122M124 58L132 65M180 36V46M236 58L228 65M248 104H238M236 150L228 143", "g-line"), path("M180 104L222 70", "g-needle"), path("M200 60A50 50 0 0 0 170 56", "g-move"),
    label(180, 208, line("pressure lost in one minute"), "middle"));
}

function tappetStep() {
  return frame(line("Both tappets from the same plane"), path("M40 30H120V190H40Z", "d-soft d-body"), path("M120 56H214V88H120ZM120 132H226V164H120Z", "d-strong d-body"),
    path("M130 50L136 94L142 50L148 94M130 126L136 170L142 126L148 170", "d-soft d-open"), extent(214, 226, 110, 92, 128), label(260, 115, line("difference"), "start"));
}

function guideBore() {
  return frame(line("Bore and pin at three places, in two directions"), path("M60 40H300V180H60ZM60 86H300M60 134H300", "d-soft d-body"), path("M40 92H330V128H40Z", "d-strong d-body"),
    [100, 180, 260].map((x) => arrow(x, 88, x, 132)), label(180, 208, line("oval grooves lie level"), "middle"));
}

const onSection = (title, strong, from, to, hidden = ["retainer"]) => () =>
  frame(line(title), section(strong, hidden.filter((name) => !strong.includes(name))), lookAt(...from, ...to));

const OF_FIELD = {
  wear_indicator: indicator, visible_friction: opening, rotor_view: onSection("The rotor seen through the wheel", ["rotor"], [320, 150], [232, 110]),
  total_travel: travel, tangential_play: tangentialPlay, radial_play: radialPlay, rotor_bridge_gap: radialPlay, slide, guide_pin_boot: pinBoot, tappet_boot: tappetBoot,
  tappet_shank: tappetBoot, tappet_step: tappetStep, adjuster_test: adjuster, adjuster_torque: adjuster, abutment_faces_caught: abutments, pad_freedom: padFreedom,
  rotor_thickness: () => rotorThickness({ points: line("8 points, mid radius") }), rotor_thickness_variation: () => rotorThickness({ points: line("12 points, one radius") }),
  rotor_runout: rotorDial, bearing_end_play: endPlay, hub_face_runout: hubFace, rotor_crack: cracks, rotor_crack_length: cracks, rotor_crack_width: cracks, rotor_heat_spots: cracks,
  rotor_scoring: scoring, brake_force: roller, brake_drag: roller, brake_force_2bar: roller, brake_force_4bar: roller, brake_force_swing: roller, parking_force: roller, wheel_load: roller,
  temperature: infrared, air_leak: air, pressure_threshold: air, action, free_turning: freeTurning, air_loss_released: gaugeAir, air_loss_applied: gaugeAir, guide_clearance: guideBore,
  hose: onSection("Hoses and cables, bent and followed by hand", ["hose"], [110, 18], [20, 46]), stem_cap: onSection("The cap on the adjuster stem", ["stem"], [26, 30], [70, 53], ["retainer", "hose"]),
  caps_seen: onSection("Caps and boots from below, with a light", ["stem", "pin", "pinBoot"], [110, 206], [140, 152]), guide_caps: onSection("Caps at the heads of the guide pins", ["pin"], [40, 190], [90, 152], ["retainer"]),
  wheel_fasteners: onSection("Nuts and marks at the wheel", ["fasteners", "hub"], [330, 170], [266, 200]), hub_seal: onSection("A track of oil at the inner side of the hub", ["seal", "hub"], [110, 196], [198, 206], ["retainer", "sensor"]),
  tone_ring: onSection("Teeth of the ring, all round", ["ring"], [110, 190], [194, 184], ["retainer", "sensor"]), sensor_gap: onSection("Gap between sensor and ring", ["sensor", "ring"], [110, 200], [188, 190]),
  carrier: onSection("Carrier and its bolts", ["carrier"], [96, 196], [162, 190]), calliper_fixing: onSection("Bolts of the calliper", ["calliper", "ear"], [60, 190], [118, 152]),
  fastener_torque: onSection("Bolts of the carrier", ["carrier"], [96, 196], [162, 190]), retainer: onSection("Retainer and springs over the pads", ["retainer", "inner", "outer"], [330, 20], [217, 62], []),
  chamber_fixing: onSection("Nuts of the chamber", ["chamber"], [60, 190], [80, 134]), chamber_seal: onSection("Seal between chamber and calliper", ["chamber"], [50, 190], [82, 128]),
  chamber_size: onSection("The mark on the chamber", ["chamber"], [40, 190], [40, 108]), chamber_stroke: onSection("Rod or stroke mark, where one is in sight", ["chamber"], [50, 190], [78, 106]),
  spring_brake: onSection("Spring brake: free when released, holds when exhausted", ["chamber"], [40, 190], [40, 108]), sensor_wire: onSection("Route and clips of the wires", ["innerPlate", "outerPlate"], [320, 160], [258, 82], ["retainer"]),
  rotor_fixing: onSection("Bolts, splines and hat of the rotor", ["hub", "rotor"], [320, 170], [232, 190]), first_look: onSection("The whole brake before it is touched", ["calliper", "rotor", "inner", "outer", "chamber"], [330, 190], [217, 110], []),
  pad_condition: onSection("Face, edges and plate of both pads", ["inner", "outer", "innerPlate", "outerPlate"], [320, 160], [244, 112]), pad_identity: onSection("Edge code and part number of the pads", ["inner", "outer", "innerPlate", "outerPlate"], [320, 30], [244, 84]),
  pad_part: onSection("Part number on edge or plate", ["innerPlate", "outerPlate"], [320, 30], [257, 84]), pad_batch: onSection("Batch on edge or plate", ["innerPlate", "outerPlate"], [320, 30], [257, 84]),
  calliper_batch: onSection("Batch or build week cast or stamped on the calliper", ["calliper"], [60, 190], [118, 152]),
};

export function drawingFor(field, options = {}) {
  if (field === "pad_inner" || field === "pad_outer") return padCorners({ field, ...options });
  return OF_FIELD[field]?.(options) ?? null;
}
