// What is told below a table of readings: rows left out, rows out of order, readings in the column of
// stations.
import { missingIn } from "../../model/document/columns.js";
import { isOutOfOrder, misplacedReadings, readingsInPlace, rowsInOrder } from "../../model/document/tables.js";
import { HEADS } from "../../model/wording/ground_tables.js";
import { byId, h, say } from "../dom.js";

// The notes of a kind, still silent. `change(edit)` edits the plan by a press, `focus(path)` leads to a
// cell, or to the first that is empty.
export function tableNotes(kind, change, focus) {
  const press = (text, look, edit, path) =>
    h(
      "button",
      {
        type: "button",
        class: look,
        onclick: () => {
          change((plan) => edit(plan, kind));
          focus(path);
        },
      },
      text,
    );
  return [
    h("p", { class: "unfinished hint", role: "status" }),
    h(
      "p",
      { class: "hint", id: "misplaced", role: "status", hidden: true },
      "Stations grow along the run, and these do not: they look like readings. ",
      press("Take them as readings", null, readingsInPlace, `${kind}.rows.1.at`),
      " Then give each its station.",
    ),
    h(
      "p",
      { class: "hint", id: "in-order", hidden: true },
      "The rows are not in the order of the run; they are taken in order all the same. ",
      press("Put the rows in order", "quiet", rowsInOrder),
    ),
  ];
}

// Say which rows of a kind are left out because a part is missing, but for the one being typed in,
// and offer to put right what is out of place.
export function tellNotes(host, plan, kind, unfinished) {
  const here = document.activeElement?.dataset?.path ?? "";
  const note = host.querySelector(".unfinished");
  if (!note) return;
  const misplaced = misplacedReadings(plan, kind) !== null;
  const told = unfinished
    .filter((path) => !misplaced && !here.startsWith(`${path}.`))
    .map((path) => {
      const i = Number(path.split(".")[2]);
      const missing = missingIn(kind, plan[kind].rows[i]).map((name) => `“${HEADS[kind][name]}”`);
      return missing.length
        ? `Row ${i + 1} is left out until it has ${missing.join(" and ")}.`
        : `Row ${i + 1} is left out until its string is read at another station too.`;
    });
  say(note, told.join(" "));
  byId("misplaced").hidden = !misplaced;
  byId("in-order").hidden = misplaced || !isOutOfOrder(plan, kind);
}
