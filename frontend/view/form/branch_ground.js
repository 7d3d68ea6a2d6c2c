// The ground along a branch: a table of its own for each way to measure, and its level book's head.
import { BRANCH_GROUNDS, BY_DROP } from "../../model/document/branch_columns.js";
import { SHEETS } from "../../model/document/columns.js";
import { withoutRow } from "../../model/document/document.js";
import { branchName, withBranchRow } from "../../model/document/line_items.js";
import { branchGround } from "../../model/request/branches.js";
import { HEADS } from "../../model/wording/ground_tables.js";
import { h, idOf } from "../dom.js";
import { knownPoints } from "./known_points.js";
import { sightChoice } from "./level_book.js";

const WORDS = {
  level_line: "Stations from the start of the branch, and from a level string down to the ground.",
  rod: "The book of the branch: a backsight (BS) on a point of known level, sights on the ground with their stations from the start of the branch.",
  elevations: "Stations from the start of the branch, and levels in the same terms as the main line's.",
  steps: "From the start of the branch to the join: the length of each step, and how far the ground drops along it.",
  slopes: "From the start of the branch; uphill towards the join counts as plus. A level string or a book ties it to the main line better.",
};

// Paths of the rows of a table that belong to a branch.
const pathsOf = (plan, sheet, { key }) => plan[sheet].rows.flatMap((row, i) => (row.branch === key ? [`${sheet}.rows.${i}`] : []));

// The table for how a branch's ground is measured; null on the surface under the map.
export function groundTable(store, plan, row, form) {
  const kind = branchGround(plan, row);
  if (!kind || kind === BY_DROP) return null;
  const { sheet } = BRANCH_GROUNDS[kind];
  const columns = Object.keys(SHEETS[sheet]).filter((name) => name !== "branch");
  const paths = pathsOf(plan, sheet, row);
  const head = (name) =>
    h("th", { scope: "col" }, HEADS[kind][name], paths.length > 0 && h("span", { class: "unit", "data-unit": `${paths[0]}.${name}` }));
  const body = paths.map((path, k) => {
    const error = h("p", { class: "error", id: `${idOf(path)}-error`, hidden: true });
    const line = h(
      "tr",
      null,
      h("th", { scope: "row", class: "number" }, String(k + 1)),
      columns.map((name) => cell(kind, `${path}.${name}`, `${HEADS[kind][name]}, row ${k + 1} of ${branchName(row)}`, form)),
      h(
        "td",
        null,
        h(
          "button",
          {
            type: "button",
            class: "icon",
            "aria-label": `Remove row ${k + 1} of ${branchName(row)}`,
            onclick: () => store.edit((now) => withoutRow(now, sheet, Number(path.split(".")[2]))),
          },
          "×",
        ),
        error,
      ),
    );
    form.bindPart(path, line, error);
    return line;
  });
  return h(
    "div",
    null,
    h("p", { class: "hint" }, WORDS[kind]),
    h(
      "div",
      { class: "table-frame" },
      h(
        "table",
        { class: `sheet sheet-${kind}` },
        h(
          "thead",
          null,
          h(
            "tr",
            null,
            h("th", { scope: "col", class: "number" }, h("span", { class: "unseen" }, "Row")),
            columns.map(head),
            h("th", { scope: "col" }, h("span", { class: "unseen" }, "Remove")),
          ),
        ),
        h("tbody", null, body),
      ),
    ),
    h(
      "button",
      { type: "button", onclick: () => store.edit((now) => withBranchRow(now, sheet, row.key)) },
      kind === "level_line" ? "Add a reading" : "Add a row",
    ),
    kind === "rod" &&
      knownPoints({
        store,
        form,
        paths: pathsOf(plan, "branch_known", row),
        of: ` of ${branchName(row)}`,
        add: (now) => withBranchRow(now, "branch_known", row.key),
      }),
  );
}

function cell(kind, path, label, form) {
  const column = path.split(".").at(-1);
  if (column === "sight") return h("td", null, sightChoice(path, label, form));
  const error = h("p", { class: "error", id: `${idOf(path)}-error`, hidden: true });
  const input = h("input", {
    id: idOf(path),
    "data-path": path,
    autocomplete: "off",
    "aria-label": label,
    inputmode: !["line", "on", "percent"].includes(column) && "decimal",
  });
  return h("td", null, input, form.bindCell(input, error), error);
}
