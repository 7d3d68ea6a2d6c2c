// Everything that is drawn on a base as a row of points: the main line, its branches, the lot
// line, areas to keep out of or that need cover, places to reach, points that stand still, to tape
// from. Each has an id: "line", "branch:b1", "lot", "avoid:0", "target:0", "fixed:0", "cover:c1". Points are in the base's own coordinates.

import { distances, lineLength, nearestOn } from "../geometry/polyline.js";
import { BRANCH_SHEETS } from "./branch_columns.js";
import { BLANK, blankDocument, DRAWN_ONLY, inUnits, isLocal, lineOf, withGround, withLine, withWayOf } from "./document.js";
import { branchName, coverName, heirs, withBranch, withCover, withoutBranch } from "./line_items.js";

export const MAIN = "line";
const LEAST_POINTS = { line: 2, branch: 2, lot: 3, avoid: 3, target: 1, fixed: 1, cover: 3 };

// The kinds that a base may hold many of: the list they are in, the points of one, its name until
// one is given.
const LISTS = {
  avoid: { list: "avoid", points: "ring", word: "Area" },
  target: { list: "targets", points: "points", word: "Place" },
  fixed: { list: "fixed", points: "points", word: "Fixed point" },
};
const namesOf = (plan, kind) =>
  outlinesOf(plan)[LISTS[kind].list].map(({ name }, i) => ({ id: `${kind}:${i}`, name: name || `${LISTS[kind].word} ${i + 1}` }));

export const kindOf = (id) => id.split(":")[0];
const keyOf = (id) => id.split(":")[1];
export const isClosed = (id) => ["lot", "avoid", "cover"].includes(kindOf(id));
// A kind of one point alone: there is nothing to go on with.
export const isOnePoint = (id) => kindOf(id) === "fixed";
export const leastPoints = (id) => LEAST_POINTS[kindOf(id)];

const NONE = { lot: [], avoid: [], targets: [], fixed: [] };
export const outlinesOf = (plan) => ({ ...NONE, ...plan.outlines[plan.base] });

const branchRow = (plan, key) => plan.branches.rows.find((row) => row.key === key);

// Every shape on the present base as {id, name}, the main line first.
export function shapesOf(plan) {
  return [
    { id: MAIN, name: "Main line" },
    ...plan.branches.rows.filter((row) => row.run === "drawn").map((row) => ({ id: `branch:${row.key}`, name: branchName(row) })),
    ...namesOf(plan, "target"),
    ...namesOf(plan, "avoid"),
    ...namesOf(plan, "fixed"),
    ...plan.covers.rows.filter((row) => row.run === "drawn").map((row) => ({ id: `cover:${row.key}`, name: coverName(row) })),
    ...(outlinesOf(plan).lot.length ? [{ id: "lot", name: "Lot line" }] : []),
  ];
}

export const hasShape = (plan, id) => id === "lot" || shapesOf(plan).some((shape) => shape.id === id);

export function pointsOf(plan, id) {
  const [kind, key] = [kindOf(id), keyOf(id)];
  if (kind === "branch") return branchRow(plan, key)?.lines[plan.base] ?? [];
  if (kind === "lot") return outlinesOf(plan).lot;
  if (kind === "cover") return plan.covers.rows.find((row) => row.key === key)?.rings[plan.base] ?? [];
  if (kind in LISTS) return outlinesOf(plan)[LISTS[kind].list][key]?.[LISTS[kind].points] ?? [];
  return lineOf(plan);
}

export function withPoints(plan, id, points) {
  const [kind, key] = [kindOf(id), keyOf(id)];
  if (kind === "line") return withLine(plan, points);
  if (kind === "branch") {
    const rows = plan.branches.rows.map((row) => (row.key === key ? { ...row, lines: { ...row.lines, [plan.base]: points } } : row));
    return { ...plan, branches: { rows } };
  }
  if (kind === "cover") {
    const rows = plan.covers.rows.map((row) => (row.key === key ? { ...row, rings: { ...row.rings, [plan.base]: points } } : row));
    return { ...plan, covers: { rows } };
  }
  const outlines = outlinesOf(plan);
  if (kind === "lot") return withOutlines(plan, { ...outlines, lot: points });
  return changed(plan, id, { [LISTS[kind].points]: points });
}

// The plan with one of many shapes changed; `change` holds the fields that change. A building that a
// source told (`sourced`) is somebody's own from then on.
function changed(plan, id, change) {
  const outlines = outlinesOf(plan);
  const { list } = LISTS[kindOf(id)];
  const next = outlines[list].map((one, i) => {
    if (i !== Number(keyOf(id))) return one;
    const { sourced, ...own } = one;
    return { ...own, ...change };
  });
  return withOutlines(plan, { ...outlines, [list]: next });
}

export const withOutlines = (plan, outlines) => ({ ...plan, outlines: { ...plan.outlines, [plan.base]: outlines } });

// The name of an area, a place to reach or a fixed point.
export const withName = (plan, id, name) => changed(plan, id, { name });

// The name as typed; "" where none is.
export const nameOf = (plan, id) => outlinesOf(plan)[LISTS[kindOf(id)].list][keyOf(id)]?.name ?? "";

// A new shape of a kind, empty yet: {plan, id}. There is one main line and one lot line.
export function withShape(plan, kind) {
  if (kind === "branch") {
    const made = withBranch(plan, "drawn");
    return { plan: made.plan, id: `branch:${made.key}` };
  }
  if (kind === "cover") {
    const made = withCover(plan, { run: "drawn" });
    return { plan: made.plan, id: `cover:${made.key}` };
  }
  if (!(kind in LISTS)) return { plan, id: kind };
  const outlines = outlinesOf(plan);
  const { list, points, word } = LISTS[kind];
  const count = outlines[list].length;
  const one = { name: `${word} ${count + 1}`, [points]: [] };
  return { plan: withOutlines(plan, { ...outlines, [list]: [...outlines[list], one] }), id: `${kind}:${count}` };
}

export function withoutShape(plan, id) {
  const kind = kindOf(id);
  if (kind === "branch") return withoutBranch(plan, keyOf(id));
  if (kind === "cover") return { ...plan, covers: { rows: plan.covers.rows.filter(({ key }) => key !== keyOf(id)) } };
  if (!(kind in LISTS)) return withPoints(plan, id, []);
  const outlines = outlinesOf(plan);
  const { list } = LISTS[kind];
  const rest = outlines[list].filter((_, i) => i !== Number(keyOf(id)));
  const next = withOutlines(plan, { ...outlines, [list]: rest });
  const { goal } = plan.search; // a place searched for alone may be gone, or have another number
  return kindOf(goal) === kind ? { ...next, search: { ...plan.search, goal: "" } } : next;
}

function outlinesMoved({ lot, avoid, targets, fixed }, move) {
  const eachMoved = (list) => list.map((one) => ({ ...one, points: one.points.map(move) }));
  return {
    lot: lot.map(move),
    avoid: avoid.map((area) => ({ ...area, ring: area.ring.map(move) })),
    targets: eachMoved(targets),
    fixed: eachMoved(fixed),
  };
}

// A line of pipe in metres on the base's plane, by the key of its branch ("" is the main line).
// The last point of a branch is only near the line it joins; where it joins is worked out, so
// that it follows when that line is moved.
export function pipeLine(plan, key, plane) {
  const points = pointsOf(plan, key ? `branch:${key}` : MAIN).map(plane.toMetres);
  if (!key || points.length < 2) return points;
  const join = joinOf(plan, key, plane);
  return join ? [...points.slice(0, -1), join.point] : points;
}

// Where a drawn branch ends: {point, along, length} on the line it joins; null without one.
export function joinOf(plan, key, plane) {
  const { into } = branchRow(plan, key);
  const whole = pipeLine(plan, into, plane);
  const last = pointsOf(plan, `branch:${key}`).at(-1);
  if (!last || whole.length < 2) return null;
  const { point, along } = nearestOn(whole, plane.toMetres(last));
  return { point, along, length: lineLength(whole) };
}

// The lines that a branch may end in: the main line and every branch that does not hang on it.
export function hosts(plan, key) {
  const barred = new Set([key, ...heirs(plan, key)]);
  return ["", ...plan.branches.rows.map((row) => row.key).filter((other) => !barred.has(other))];
}

// The branch led into the line nearest to its last point.
export function ledIntoNearest(plan, key, plane) {
  const last = pointsOf(plan, `branch:${key}`).at(-1);
  if (!last) return plan;
  const near = hosts(plan, key)
    .map((into) => ({ into, found: nearestOn(pipeLine(plan, into, plane), plane.toMetres(last)) }))
    .filter(({ found }) => found)
    .sort((a, b) => a.found.away - b.found.away)[0];
  const rows = plan.branches.rows.map((row) => (row.key === key ? { ...row, into: near?.into ?? "" } : row));
  return { ...plan, branches: { rows } };
}

// Stations of the points of a line, in metres along it.
export const stationsOf = (plan, key, plane) => distances(pipeLine(plan, key, plane));

// Every shape on a base moved point by point.
export function shapesMoved(plan, base, move) {
  const moved = (points) => points?.map(move) ?? [];
  const rows = plan.branches.rows.map((row) =>
    row.lines[base] ? { ...row, lines: { ...row.lines, [base]: moved(row.lines[base]) } } : row,
  );
  const covers = plan.covers.rows.map((row) =>
    row.rings[base] ? { ...row, rings: { ...row.rings, [base]: moved(row.rings[base]) } } : row,
  );
  const { starts } = plan.search;
  return {
    ...plan,
    search: { ...plan.search, starts: { ...starts, ...(starts[base] && { [base]: move(starts[base]) }) } },
    lines: { ...plan.lines, ...(plan.lines[base] && { [base]: moved(plan.lines[base]) }) },
    branches: { rows },
    covers: { rows: covers },
    outlines: {
      ...plan.outlines,
      ...(plan.outlines[base] && {
        [base]: outlinesMoved({ ...NONE, ...plan.outlines[base] }, move),
      }),
    },
  };
}

// The plan on another base; what is drawn goes along where `carry` turns a point of the old base
// into one of the new. It is null where the two are not both placed.
export function onBase(plan, base, carry) {
  const next = { ...plan, base };
  if (!carry || !plan.lines[plan.base]?.length) return next;
  const from = plan.base;
  const rows = plan.branches.rows.map((row) =>
    row.lines[from] ? { ...row, lines: { ...row.lines, [base]: row.lines[from].map(carry) } } : row,
  );
  const covers = plan.covers.rows.map((row) =>
    row.rings[from] ? { ...row, rings: { ...row.rings, [base]: row.rings[from].map(carry) } } : row,
  );
  return {
    ...next,
    lines: { ...plan.lines, [base]: plan.lines[from].map(carry) },
    branches: { rows },
    covers: { rows: covers },
    outlines: { ...plan.outlines, [base]: outlinesMoved(outlinesOf(plan), carry) },
  };
}

// What lies along the lines of one base by its stations, and on no other's.
const ALONG = ["crossings", "covers", "fills", "branches", ...Object.keys(BRANCH_SHEETS), "inflows", "openings", "over_raster"];
const alongOf = (plan) => Object.fromEntries(ALONG.map((name) => [name, plan[name]]));

// `next` is the plan on another base, to which nothing was carried: what lay along the old base's lines
// stays with them, and what was left with the new base's comes back. A new line begins with none.
export function partedFrom(plan, next) {
  if (plan.route.kind !== "drawn" || plan.base === next.base || lineOf(plan).length < 2) return next;
  const { [next.base]: left, ...aside } = plan.aside;
  if (!left && lineOf(next).length) return next;
  const { units, tape_length, ...parts } = left ?? { units: plan.units, tape_length: "", ...alongOf(blankDocument(plan.units)) };
  const blank = blankDocument(units);
  const here = inUnits({ ...blank, ...parts, route: { ...blank.route, tape_length } }, plan.units);
  return {
    ...next,
    ...alongOf(here),
    route: { ...next.route, tape_length: here.route.tape_length },
    aside: { ...aside, [plan.base]: { units: plan.units, tape_length: plan.route.tape_length, ...alongOf(plan) } },
  };
}

// A yard of one's own to begin with: a blank sheet with nothing on it, to draw on.
export function ownYard(plan) {
  const blank = blankDocument(plan.units);
  return withWayOf({ ...blank, route: { ...blank.route, kind: "drawn" } }, plan);
}

// Whether the blank sheet is under the map, and nothing on it.
export const isBareSheet = (plan) =>
  plan.base === BLANK &&
  plan.route.kind === "drawn" &&
  !DRAWN_ONLY.includes(plan.ground) &&
  !outlinesOf(plan).lot.length &&
  shapesOf(plan).every(({ id }) => pointsOf(plan, id).length === 0);

// The plan on a blank sheet because its base is gone: what lay on a site plan goes along, to scale.
export function offBase(plan) {
  const { kind } = plan.route;
  const next = onBase(plan, BLANK, isLocal(plan) ? (point) => point : null);
  const measured = plan.ground === "raster" ? withGround(next, "level_line") : next;
  return { ...measured, route: { ...measured.route, kind } };
}
