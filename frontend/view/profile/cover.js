// What the side view shows of cover: where it is thin, what bears on the ground and the soil that it
// asks for, and the ditch that leads on from a daylight end.
import { plain, unitOf } from "../../model/units/units.js";
import { svg } from "../dom.js";

const THIN = ["run_out", "run_in"];

// The length of the ditch beyond the end, in the plan's distance; null where none is dug.
export const ditchOf = ({ outlet }) => outlet.ditch ?? null;

// [{from, to}, …] where the cover is under the usual.
export const thinStretches = ({ answer }) =>
  (answer.conditions ?? []).filter(({ code }) => THIN.includes(code)).map(({ from_at: from, to_at: to }) => ({ from, to }));

// The ground once the soil to lay is laid; as it lies where there is none.
export const finishedOf = ({ profile }) => (profile.finished?.length ? profile.finished : profile.ground);

const corners = (points) => points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L");

// A level at a station, between the points where it is known.
function levelAt({ at }, levels, station) {
  const i = Math.min(
    Math.max(
      1,
      at.findIndex((known) => known >= station - 1e-9),
    ),
    at.length - 1,
  );
  const share = Math.min(1, Math.max(0, (station - at[i - 1]) / (at[i] - at[i - 1])));
  return levels[i - 1] + share * (levels[i] - levels[i - 1]);
}

// The band between two levels on a stretch, as a closed path.
function band({ profile }, frame, { from, to }, upper, lower) {
  const stations = [from, ...profile.at.filter((at) => at > from + 1e-9 && at < to - 1e-9), to];
  const row = (levelOf) => stations.map((at) => [frame.x(at), frame.y(levelOf(at))]);
  return `M${corners([...row(upper), ...row(lower).reverse()])}Z`;
}

const held = ({ profile }, { from, to }) => ({ from: Math.max(0, from), to: Math.min(profile.at.at(-1), to) });

export function drawThin(plan, frame) {
  const { profile } = plan;
  const stretches = thinStretches(plan).map((stretch) => held(plan, stretch));
  if (!stretches.length) return null;
  const ground = (at) => levelAt(profile, finishedOf(plan), at);
  const top = (at) => Math.min(ground(at), levelAt(profile, profile.top, at));
  return svg(
    "g",
    null,
    svg(
      "defs",
      null,
      svg(
        "pattern",
        { id: "thin-hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
        svg("path", { d: "M0 0V7" }),
      ),
    ),
    stretches.map((stretch) => svg("path", { class: "thin", fill: "url(#thin-hatch)", d: band(plan, frame, stretch, ground, top) })),
  );
}

// Each stretch that something bears on: an edge on the ground, and the soil asked for below it.
export function drawBorne(plan, frame) {
  const { profile, units } = plan;
  const small = units === "us" ? 12 : 1000;
  const ground = (at) => levelAt(profile, finishedOf(plan), at);
  return plan.covers
    .map(({ cover, what, ...ends }) => {
      const stretch = held(plan, ends);
      if (stretch.to <= stretch.from) return null;
      const middle = (stretch.from + stretch.to) / 2;
      return svg(
        "g",
        null,
        svg("path", { class: "borne", d: band(plan, frame, stretch, ground, (at) => ground(at) - cover / small) }),
        svg("line", {
          class: "borne-edge",
          x1: frame.x(stretch.from),
          y1: frame.y(ground(stretch.from)) - 2,
          x2: frame.x(stretch.to),
          y2: frame.y(ground(stretch.to)) - 2,
        }),
        svg(
          "text",
          {
            class: "borne-label",
            x: frame.x(middle),
            y: frame.y(Math.max(ground(stretch.from), ground(stretch.to))) - 8,
            "text-anchor": "middle",
          },
          what,
        ),
      );
    })
    .filter(Boolean);
}

// The length of the ditch, in its condition's words where it has one.
export function toldLength({ answer, outlet, units }) {
  const told = answer.conditions?.find(({ code }) => code === "ditch");
  const length = told ? told.to_at - told.from_at : outlet.ditch;
  return `${plain(length, units === "us" ? 1 : 2)} ${unitOf("distance", units)}`;
}

// The level ditch beyond the end, and the ground there, which falls to its bottom.
export function drawDitch(plan, frame) {
  const length = ditchOf(plan);
  if (!length) return null;
  const { at, ground, bottom } = plan.profile;
  const [left, right] = [frame.x(at.at(-1)), frame.x(at.at(-1) + length)];
  const [top, low] = [frame.y(ground.at(-1)), frame.y(bottom.at(-1))];
  return svg(
    "g",
    null,
    svg("path", { class: "ditch", d: `M${left} ${top}V${low}H${right}` }),
    svg("path", { class: "ditch-ground", d: `M${left} ${top}L${right} ${low}` }),
    svg("text", { class: "ditch-label", x: frame.wide - 2, y: top - 8, "text-anchor": "end" }, `ditch ${toldLength(plan)}`),
  );
}
