// Further points of known level that a level book can close on: the main line's book, or a branch's.
import { withoutRow } from "../../model/document/document.js";
import { h, idOf } from "../dom.js";

// A list of the points at `paths` (of rows of one table), and a button for one more. `of` names
// the line where there are several; `form` gets the fields once they stand in the page.
export function knownPoints({ store, form, paths, add, of = "" }) {
  const rows = paths.map((path, k) => {
    const number = ` ${k + 1}`;
    const error = h("p", { class: "error", id: `${idOf(path)}-error`, hidden: true });
    const field = (column, label, inputmode) => {
      const id = idOf(`${path}.${column}`);
      const slot = h("p", { class: "error", id: `${id}-error`, hidden: true });
      const input = h("input", { id, "data-path": `${path}.${column}`, autocomplete: "off", inputmode });
      form.bindCell(input, slot);
      return h(
        "div",
        { class: "field" },
        h("label", { for: id }, label + number, h("span", { class: "unit", "data-unit": `${path}.${column}` })),
        input,
        slot,
      );
    };
    const [sheet, , i] = path.split(".");
    const remove = h(
      "button",
      {
        type: "button",
        class: "quiet",
        onclick: () => store.edit((plan) => withoutRow(plan, sheet, Number(i))),
      },
      `Remove known point${number}${of}`,
    );
    const row = h(
      "div",
      { class: "pair three known-point" },
      field("name", "Known point"),
      field("elevation", "Elevation of point", "decimal"),
      h("div", { class: "field" }, remove),
      error,
    );
    form.bindPart(path, row, error);
    return row;
  });
  return h(
    "div",
    { class: "known-points" },
    rows,
    h("button", { type: "button", onclick: () => store.edit(add) }, `Add a known point${of}`),
  );
}
