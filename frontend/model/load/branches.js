// Branches of a request on the page's plan, and what stands on each line.
import { BRANCH_GROUNDS, BRANCH_PARTS, BY_DROP, blankBranch } from "../document/branch_columns.js";
import { OWN_PIPE } from "../document/document.js";
import { withCover } from "../document/line_items.js";
import { turnedText } from "../request/drop.js";
import { lengthUnitM } from "../units/units.js";
import { listText, rowOf, text, textsOf } from "./typed.js";

const more = (plan, sheet, rows) => ({ ...plan, [sheet]: { rows: [...plan[sheet].rows, ...rows] } });

// The plan with the inlets, crossings, openings, covers and soil to lay of the main line (`key` "") or a branch.
export function withThingsOn(plan, { inflows = [], crossings = [], covers = [], fills = [], head: { openings = [] } = {} }, key) {
  const things = {
    inflows,
    crossings: crossings.map((row) => ({ pass: "either", ...row, exposed: row.exposed ? "yes" : "" })),
    openings,
    fills,
  };
  const next = Object.entries(things).reduce(
    (now, [sheet, list]) =>
      more(
        now,
        sheet,
        list.map((row) => ({ ...rowOf(sheet, row), on: key })),
      ),
    plan,
  );
  return covers.reduce((now, row) => withCover(now, { ...rowOf("covers", row), wheels: turnedText(row.wheels), on: key }).plan, next);
}

// The plan with every branch of the request, each after the line it ends in.
export function withBranches(plan, request, base, into = "") {
  return (request.branches ?? []).reduce((now, branch) => {
    const key = `b${now.branches.rows.length + 1}`;
    const next = withGround(more(now, "branches", [branchRow(now, branch, { key, into, base })]), branch.ground, key);
    return withBranches(withThingsOn(next, branch, key), { ...request, branches: branch.branches }, base, key);
  }, plan);
}

function branchRow(plan, branch, { key, into, base }) {
  const { route, ground, pipe, start, grade = {}, limits = {}, stations = {} } = branch;
  const usual = blankBranch(plan.units);
  const by = ["cover", "depth", "invert"].find((name) => name in start) ?? "cover";
  const said = { pipe, start, grade, limits, stations };
  const measures = Object.entries(BRANCH_PARTS).map(([part, columns]) => textsOf(said[part], columns));
  return {
    ...usual,
    key,
    into,
    run: route.line ? "drawn" : "taped",
    ...Object.assign({}, ...measures),
    ...textsOf({ ...branch, ...route }, ["name", "drop", "length", "tape_length"]),
    joins_at: route.line ? "" : text(branch.joins_at),
    pipe: pipe.code ?? OWN_PIPE,
    start_by: by,
    start_value: text(start[by]),
    stations: listText(stations.at),
    shape: grade.shape ?? usual.shape,
    aim: grade.aim ?? usual.aim,
    dig_by: text(limits.dig_by),
    ...bookFields(ground, usual),
    ...dropFields(ground),
    reversed: turnedText(ground.reversed),
    ground: BRANCH_GROUNDS[ground.kind] || ground.kind === BY_DROP ? ground.kind : "",
    lines: linesOf(route, base, plan.units),
  };
}

const bookFields = (ground, usual) =>
  ground.kind === "rod"
    ? {
        rod_unit: ground.rod_unit ?? usual.rod_unit,
        benchmark: text(ground.benchmark.name),
        benchmark_elevation: text(ground.benchmark.elevation),
        levelled: text(ground.distance),
      }
    : {};

const dropFields = ({ kind, drop, hump }) =>
  kind === BY_DROP ? { ground_drop: text(drop), hump_at: text(hump?.at), hump_height: text(hump?.height) } : {};

function linesOf({ line, crs = "OGC:CRS84" }, base, units) {
  if (!line || crs !== base.route_crs) return {};
  const scale = crs === "local" ? lengthUnitM(units) : 1;
  return { [base.id]: line.coordinates.map(([x, y]) => [x * scale, y * scale]) };
}

function withGround(plan, ground, key) {
  const table = BRANCH_GROUNDS[ground.kind];
  if (!table) return plan;
  const rows = (sheet, list) => list.map((row) => ({ ...rowOf(sheet, row), branch: key }));
  const next = more(plan, table.sheet, rows(table.sheet, ground[table.list]));
  return more(next, "branch_known", rows("branch_known", ground.known ?? []));
}
