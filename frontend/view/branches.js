// Branches as forms: where each joins, its pipe, its start, and the ground along it.
import { withoutRow } from "../sums/document.js";
import { branchLacks, needsReadings } from "../sums/branches.js";
import { hosts } from "../sums/shapes.js";
import { branchName, withBranch, withoutBranch, withReading } from "../sums/works.js";
import { byId, h, idOf } from "./element.js";
import { optionsOf } from "./things.js";

const COLUMNS = { at: "Station", down: "String to ground" };

// The description of branches for a list of things.
export const branchKind = (store) => ({
  sheet: "branches", host: "branch-list", addId: "add-branch", first: "name",
  labels: {
    name: "Name", into: "Ends in", run: "Its run is", joins_at: "Joins at station", length: "Length",
    pipe: "Pipe", start_by: "At its start, set", start_value: "That is", min_percent: "Least grade",
    max_depth: "Deepest you will dig",
  },
  hints: {
    joins_at: "Along the line it ends in.", length: "Empty: to its last reading.",
    min_percent: "Empty: the usual of its pipe.", max_depth: "Empty: as the main line.",
  },
  title: (i) => `Branch ${i + 1}`,
  fields: (plan, row) => [
    "name", "into", "run", ...(row.run === "drawn" ? [] : ["joins_at", "length"]), "pipe", "start_by", "start_value",
    "min_percent", "max_depth",
  ],
  redrawn: (plan, row) => [
    row.key, hosts(plan, row.key), plan.branches.rows.map(({ name }) => name),
    needsReadings(plan, row) && plan.branch_readings.rows.filter(({ branch }) => branch === row.key).length,
  ],
  options: (plan, row, column) => OPTIONS[column](plan, row),
  lacks: branchLacks,
  add: (plan) => withBranch(plan, "taped").plan,
  remove: (plan, i) => withoutBranch(plan, plan.branches.rows[i].key),
  release: (form) => form.release("branch_readings."),
  more: (plan, row, i, form) => needsReadings(plan, row) && readings(store, plan, row, form),
});

const OPTIONS = {
  into: (plan, row) => optionsOf(hosts(plan, row.key).map((key) =>
    [key, key ? branchName(plan.branches.rows.find((other) => other.key === key)) : "the main line"])),
  run: () => optionsOf([["drawn", "drawn on the map"], ["taped", "taped only"]]),
  pipe: () => [...byId("pipe-code").children].map((group) => group.cloneNode(true)),
  start_by: () => optionsOf([["cover", "cover over the pipe"], ["depth", "trench depth"]]),
};

function readings(store, plan, row, form) {
  const rows = plan.branch_readings.rows.map((reading, i) => ({ reading, i })).filter(({ reading }) => reading.branch === row.key);
  const cell = (i, column, number) => {
    const path = `branch_readings.rows.${i}.${column}`;
    const error = h("p", { class: "error", id: `${idOf(path)}-error`, hidden: true });
    const input = h("input", {
      id: idOf(path), "data-path": path, inputmode: "decimal", autocomplete: "off",
      "aria-label": `${COLUMNS[column]}, reading ${number} of ${branchName(row)}`,
    });
    form.bindCell(input, error);
    return h("td", null, input, error);
  };
  return h("div", null,
    h("p", { class: "hint" }, "The ground along the branch: stations from its start, and from a level string down to the ground."),
    h("table", { class: "sheet" },
      h("thead", null, h("tr", null,
        Object.entries(COLUMNS).map(([name, text]) => h("th", { scope: "col" }, text,
          h("span", { class: "unit", "data-unit": `branch_readings.rows.0.${name}` }))),
        h("th", { scope: "col" }, h("span", { class: "unseen" }, "Remove")))),
      h("tbody", null, rows.map(({ i }, k) => h("tr", null, cell(i, "at", k + 1), cell(i, "down", k + 1),
        h("td", null, h("button", {
          type: "button", class: "icon", "aria-label": `Remove reading ${k + 1} of ${branchName(row)}`,
          onclick: () => store.edit((now) => withoutRow(now, "branch_readings", i)),
        }, "×")))))),
    h("button", { type: "button", onclick: () => store.edit((now) => withReading(now, row.key)) }, "Add a reading"));
}
