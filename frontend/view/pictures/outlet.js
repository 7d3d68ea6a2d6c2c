// The outlet cut open, true to scale: ground, trench, pipe, how it ends, the water in it, and the one
// figure that decides.
import { outletScene } from "../../model/geometry/outlet_scene.js";
import { coverWords, deepWords } from "../../model/wording/depths.js";
import { byId, h, svg } from "../dom.js";
import { toldLength } from "../profile/cover.js";

const WIDE = 360;
const ROOM = 165;
const TOP = 34;
const FOOT = 22;
const END = 0.6; // where the pipe ends, as a share of the width
const LEAST_PX_WIDE = { us: 30, si: 760 }; // the least that is shown from left to right
const OVER = { us: 2, si: 50 }; // shown above the ground
const BAR = { us: [12, "12 in"], si: [300, "300 mm"] };
const CURB = { us: 6, si: 150 };

const NAMES = {
  pop_up: "The pop-up, cut open",
  daylight: "The daylight end, cut open",
  curb: "The curb outlet, cut open",
  dry_well: "Where it enters the dry well, cut open",
  tie_in: "The tie-in, cut open",
};

export function showOutletPicture(plan) {
  const scene = outletScene(plan);
  byId("outlet-picture").hidden = !scene;
  byId("outlet-picture").replaceChildren(...(scene ? [pictureOf(scene, plan)] : []));
}

function pictureOf(scene, plan) {
  const { units, outlet } = plan;
  const toldDitch = scene.beyond?.ditch ? toldLength(plan) : "";
  const head = `${NAMES[scene.kind]}, to scale`;
  const words = `The trench is ${deepWords(outlet.dig_depth, units)} there; ${coverWords(outlet.cover, units)}.`;
  const said = scene.limit === null ? words : `The pipe comes out ${scene.figure}. ${words}`;
  return h(
    "figure",
    { class: "outlet-picture" },
    draw(scene, units, `${head}. ${said}`, toldDitch),
    h("figcaption", null, h("b", null, `${head}. `), said),
  );
}

const text = (name, x, y, words, anchor = "start") => svg("text", { class: name, x, y, "text-anchor": anchor }, words);
const line = (name, ...points) =>
  svg("path", { class: name, d: `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}` });
const area = (name, ...points) =>
  svg("path", { class: name, d: `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}Z` });

// Where things lie: x(distance on from the outlet), y(depth below the ground there), `px` to a unit.
function frameOf(scene, units) {
  const high = Math.max(OVER[units], -scene.cover);
  const low = Math.max(scene.bottom, scene.limit ?? 0, scene.cover + scene.outside) + 0.7 * scene.outside;
  const px = Math.min(ROOM / (high + low), WIDE / LEAST_PX_WIDE[units]);
  const tall = TOP + (high + low) * px + FOOT;
  return {
    px,
    tall,
    x: (on) => WIDE * END + on * px,
    y: (depth) => TOP + (high + depth) * px,
    left: (-WIDE * END) / px,
    right: (WIDE * (1 - END)) / px,
    low,
  };
}

function draw(scene, units, label, ditch) {
  const frame = { ...frameOf(scene, units), ditch };
  const { x, y, px, tall, left, right, low } = frame;
  const ground = (on) => scene.groundFall * on;
  const end = ENDS[scene.kind](scene, frame, units);
  const surface = [[left, ground(left)], ...end.ground(ground, right)];
  const at = ([on, depth]) => [x(on), y(depth)];
  const middle = scene.cover + scene.outside / 2;
  const upstream = [left, middle + scene.fall * left];
  const run = `M${at(upstream).join(" ")}L${end
    .run(middle)
    .map((part) => (typeof part === "string" ? part : at(part).join(" ")))
    .join(" ")}`;
  const trenchEnd = end.trench ?? 0;
  const bottom = (on) => scene.bottom + scene.fall * on;
  return svg(
    "svg",
    { viewBox: `0 0 ${WIDE} ${tall.toFixed(0)}`, role: "img", "aria-label": label, "data-px": px.toFixed(4) },
    svg(
      "defs",
      null,
      svg(
        "clipPath",
        { id: "outlet-water-level" },
        scene.water !== null && svg("rect", { x: 0, y: y(scene.water), width: WIDE, height: tall }),
      ),
    ),
    area("soil", ...surface.map(at), at([right, low]), at([left, low])),
    area(
      "trench",
      at([left, ground(left)]),
      at([trenchEnd, ground(Math.min(0, trenchEnd))]),
      at([trenchEnd, bottom(0)]),
      at([left, bottom(left)]),
    ),
    end.under,
    svg("path", { class: "wall", d: run, "stroke-width": scene.outside * px }),
    svg("path", { class: "bore", d: run, "stroke-width": scene.inside * px }),
    scene.water !== null &&
      svg("path", { class: "wet", d: run, "stroke-width": scene.inside * px, "clip-path": "url(#outlet-water-level)" }),
    end.over,
    line("ground", ...surface.map(at)),
    water(scene, frame, end),
    figure(scene, frame, bottom),
    text("word", 6, y(ground(left)) - 5, "ground"),
    bar(units, frame),
  );
}

// The scale: a bar of a length that everybody knows.
function bar(units, { px, tall }) {
  const [length, words] = BAR[units];
  const [from, to] = [6, 6 + length * px];
  return [line("bar", [from, tall - 9], [from, tall - 5], [to, tall - 5], [to, tall - 9]), text("word", to + 5, tall - 4, words)];
}

// The level that water reaches at the end, named, where it lies in the picture.
function water(scene, { x, y, tall, left, right }, { wet = right }) {
  if (scene.water === null || y(scene.water) < 12 || y(scene.water) > tall - FOOT) return null;
  if (wet !== right) return text("word", 8, y(scene.invert - scene.inside / 2 + scene.fall * left) + 5, "water");
  const level = y(scene.water);
  const far = x(Math.min(wet, right));
  return [line("level", [x(0), level], [far, level]), text("word wet-word", WIDE - 4, level - 5, "water", "end")];
}

// The depth of the trench, or how far it misses the limit, between two arrows.
function figure(scene, { x, y, px, left }, bottom) {
  const at = left * 0.55;
  const sill = y(bottom(at));
  const from = scene.limit === null ? y(scene.groundFall * at) : sill - (scene.bottom - scene.limit) * px;
  const [a, b] = [Math.min(from, sill), Math.max(from, sill)];
  const missed = scene.limit !== null;
  return svg(
    "g",
    { class: missed ? "missed" : "measure" },
    missed && line("limit", [x(left * 0.9), from], [x(0), from]),
    missed && text("word limit-word", x(left) + 6, from - 4, "as deep as it may end"),
    line("arrow", [x(at), a], [x(at), b]),
    line("arrow", [x(at) - 4, a + 5], [x(at), a], [x(at) + 4, a + 5]),
    line("arrow", [x(at) - 4, b - 5], [x(at), b], [x(at) + 4, b - 5]),
    text("figure", x(at) + 8, b - a < 26 ? b + 17 : (a + b) / 2 + 5, scene.figure),
  );
}

const stones = ({ x, y, px }, from, to, depth, size) =>
  Array.from({ length: Math.max(2, Math.round((to - from) / size)) }, (_, i) =>
    svg("circle", { class: "stone", cx: x(from + (i + 0.5) * size), cy: y(depth) + (i % 2 ? 1.5 : 0), r: size * px * 0.48 }),
  );

// How each kind ends: the ground on from the outlet, the run of the pipe's middle, what lies under
// the pipe and what over it.
const ENDS = {
  pop_up(scene, frame) {
    const { x, y, px } = frame;
    const bend = Math.min(scene.outside, Math.max(scene.outside / 2, (scene.cover + scene.outside / 2) * 0.8));
    const wide = scene.outside * 0.78;
    const thick = Math.max(4, scene.outside * 0.16 * px);
    return {
      trench: scene.outside * 0.9,
      wet: scene.outside,
      ground: (level, right) => [
        [0, 0],
        [right, level(right)],
      ],
      run: (middle) => [[-bend, middle], "Q", [0, middle], [0, middle - bend], "L", [0, Math.min(0, middle - bend)]],
      under: stones(frame, -scene.outside * 0.6, scene.outside * 0.6, scene.bottom + scene.outside * 0.12, scene.outside * 0.24),
      over: [
        svg("rect", { class: "lid", x: x(-wide), y: y(0) - thick, width: 2 * wide * px, height: thick, rx: 2 }),
        text("word", x(0), y(0) - thick - 6, "pop-up lid", "middle"),
        text("word", WIDE - 4, y(scene.bottom + scene.outside * 0.5), "weep hole over stone", "end"),
      ],
    };
  },
  daylight(scene, frame) {
    const { x, y } = frame;
    const { ditch } = scene.beyond;
    const sill = scene.cover + scene.outside;
    const tip = ditch ? 0 : Math.max(0, sill);
    const foot = ditch ? scene.bottom : sill + scene.outside * 0.25;
    const cut = Math.max(scene.bottom, 0);
    return {
      trench: 0,
      ground: (_, right) =>
        ditch
          ? [
              [0, 0],
              [0, cut],
              [right, cut],
            ]
          : [
              [0, 0],
              [Math.max(foot, 0), Math.max(foot, 0)],
              [right, Math.max(foot, 0)],
            ],
      run: (middle) => [[tip, middle + scene.fall * tip]],
      over: [
        svg("line", { class: "guard", x1: x(tip), x2: x(tip), y1: y(scene.cover), y2: y(sill) }),
        stones(frame, tip + scene.outside * 0.1, tip + scene.outside * 1.3, foot - scene.outside * 0.1, scene.outside * 0.24),
        ditch
          ? [
              line("beyond", [x(0), y(0)], [WIDE, y((scene.bottom * frame.right) / ditch)]),
              text("word", WIDE - 4, y(foot) + 15, `level ditch, ${frame.ditch}`, "end"),
            ]
          : text("word", WIDE - 4, y(0) - 6, "bank, ditch or swale", "end"),
      ],
    };
  },
  curb(scene, frame, units) {
    const { x, y, px } = frame;
    const thick = CURB[units];
    return {
      trench: -thick,
      ground: (_, right) => [
        [0, 0],
        [0, scene.invert],
        [right, scene.invert],
      ],
      run: (middle) => [[0, middle]],
      under: [svg("rect", { class: "concrete", x: x(-thick), y: y(0), width: thick * px, height: frame.low * px })],
      over: [
        text("word", x(-thick / 2), y(0) - 6, "curb", "middle"),
        text("word", WIDE - 4, y(scene.invert) - 5, "gutter: measure it", "end"),
      ],
    };
  },
  dry_well(scene, frame) {
    const { x, y, right, low } = frame;
    const top = Math.max(0, scene.cover * 0.5);
    const wide = scene.well ?? right * 0.9;
    const size = scene.outside * 0.5;
    const rows = [0, 1, 2].map((i) => low - size * (i + 0.5)).filter((depth) => depth > scene.bottom + size * 0.4);
    return {
      trench: 0,
      ground: (level, far) => [
        [0, 0],
        [far, level(far)],
      ],
      run: (middle) => [[scene.outside * 0.4, middle]],
      under: [
        area("pit", [x(0), y(top)], [x(wide), y(top)], [x(wide), y(low)], [x(0), y(low)]),
        ...rows.flatMap((depth) => stones(frame, 0, wide, depth, size)),
      ],
      over: [text("word", x(Math.min(wide, right) / 2), y(0) - 6, scene.well ? "dry well" : "dry well, not sized", "middle")],
    };
  },
  tie_in(scene, frame) {
    const { x, y, px } = frame;
    const radius = scene.outside * 0.75;
    return {
      trench: radius,
      ground: (level, right) => [
        [0, 0],
        [right, level(right)],
      ],
      run: (middle) => [[0, middle]],
      over: [
        svg("circle", { class: "other", cx: x(radius), cy: y(scene.cover + scene.outside - radius + scene.outside * 0.1), r: radius * px }),
        text("word", WIDE - 4, y(0) - 6, "the drain it joins, size not given", "end"),
      ],
    };
  },
};
