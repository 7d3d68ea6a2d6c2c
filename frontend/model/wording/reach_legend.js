// How each kind of place on a searched yard looks: a tint and a pattern in a square tile. Fall to
// spare is dots on green that grow; fall that is missing is slanting stripes on orange that grow;
// each reason has a pattern of its own, and a zigzag stands where only many changes of grade lead. Where a usual value has to give way, rings stand for dots. So the patterns alone tell all apart.
import { EDGES } from "../request/reach.js";

export const TILE_PX = 12;
const BANDS = 5;
const RANKED = ["outlet", "conditional", "short"];

const slant = (width) => ({ d: "M-3 3L3 -3M-3 15L15 -3M9 15L15 9", width });
const ring = (x, y, r) => ({ d: `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0`, width: 0.9 });
const tints = {
  conditional: ["#eff3cb", "#d6e3a5", "#b3cf80", "#8ab45e", "#629641"],
  outlet: ["#d6efc9", "#a9dcae", "#6fc295", "#349d78", "#0c6f58"],
  short: ["#fdeab4", "#fbd08a", "#f4ab6a", "#e58252", "#c8583e"],
};
const REASONS = {
  any_changes: { ground: "#dfe4f2", ink: "#2f3f73", marks: [{ d: "M0 8L3 4L6 8L9 4L12 8", width: 1.3 }] },
  near_start: { ground: "#f4f1e8", ink: "#5d564b", marks: [{ d: "M3 6H9M6 3V9", width: 1.2 }] },
  too_deep: { ground: "#e5d3c8", ink: "#5a2b18", marks: [{ d: "M0 3H12M0 9H12", width: 1.6 }] },
  past_unknown: {
    ground: "#f6f5f1",
    ink: "#5d564b",
    marks: [
      { cx: 3, cy: 3, r: 1 },
      { d: "M7 9H11", width: 1.4 },
    ],
  },
  closed_off: { ground: "#dadbd6", ink: "#3a423d", marks: [{ d: "M0 0L12 12M12 0L0 12", width: 1.1 }] },
  avoided: { ground: "#b9b6ae", ink: "#2b2621", marks: [{ d: "M-3 9L3 15M-3 -3L15 15M9 -3L15 3", width: 3.2 }] },
  unknown: { ground: "#ffffff", ink: "#5d564b", marks: [{ d: "M6 5V7", width: 2 }] },
};
const CHANCES = {
  sure: { ground: "#349d78", ink: "#04372a", marks: [{ d: "M0 6H12M6 0V12", width: 1.4 }] },
  likely: { ground: "#a9dcae", ink: "#0c4f3f", marks: [{ cx: 6, cy: 6, r: 2.6 }] },
  survey_first: { ground: "#fbd98a", ink: "#6a4400", marks: [{ d: "M0 9L6 3L12 9", width: 1.8 }] },
  no: { ground: "#efb9a4", ink: "#7d1d10", marks: [slant(1.4)] },
};

// {outlet-0: {ground, ink, marks}, …}: every look by its key.
export const LOOKS = {
  ...Object.fromEntries(
    Array.from({ length: BANDS }, (_, rank) => [
      [
        `outlet-${rank}`,
        {
          ground: tints.outlet[rank],
          ink: rank > 2 ? "#eafff4" : "#0c4f3f",
          marks: [
            { cx: 3, cy: 3, r: 0.7 + 0.5 * rank },
            { cx: 9, cy: 9, r: 0.7 + 0.5 * rank },
          ],
        },
      ],
      [
        `conditional-${rank}`,
        {
          ground: tints.conditional[rank],
          ink: rank > 3 ? "#f6ffe9" : "#33511b",
          marks: [ring(3, 3, 1 + 0.45 * rank), ring(9, 9, 1 + 0.45 * rank)],
        },
      ],
      [`short-${rank}`, { ground: tints.short[rank], ink: rank > 3 ? "#fff1e6" : "#8a2f14", marks: [slant(0.7 + 0.6 * rank)] }],
    ]).flat(),
  ),
  ...REASONS,
  ...CHANCES,
};

// The key of an area's look: the larger its fall to spare or missing, the higher the rank.
export function lookOf({ kind, from, to }, units) {
  if (!RANKED.includes(kind)) return kind;
  const nearest = kind === "short" ? -to : from;
  return `${kind}-${EDGES[units].filter((edge) => edge <= nearest + 1e-6).length}`;
}

// The legend's rows, the best first: most to spare, then least missing, then the reasons why not.
export function legend(features, units) {
  const place = ({ properties: { kind, from } }) => {
    if (RANKED.includes(kind)) return -(from ?? -Infinity);
    const order = ["sure", "likely", "survey_first", "no"].indexOf(kind);
    return order < 0 ? Infinity : order;
  };
  return features
    .map((feature, i) => ({ feature, i, at: place(feature) }))
    .sort((a, b) => (a.at === b.at ? a.i - b.i : a.at - b.at))
    .map(({ feature: { properties } }) => ({ ...properties, look: lookOf(properties, units) }));
}
