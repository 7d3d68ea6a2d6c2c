// A table of figures: a head for each column, and rows of which the first cell is the head.
import { h } from "../dom.js";

const cellOf = (cell) => (cell?.localName === "td" ? cell : h("td", null, cell));
const rowOf = ([head, ...cells]) => h("tr", null, h("th", { scope: "row" }, head), cells.map(cellOf));

// A cell is text, an element, a list of these, or a `td` of its own. `foot` is one more row;
// `caption` is for who cannot see it.
export function dataTable(heads, rows, { look = "bases", caption = null, foot = null } = {}) {
  return h(
    "table",
    { class: look },
    caption && h("caption", { class: "unseen" }, caption),
    h(
      "thead",
      null,
      h(
        "tr",
        null,
        heads.map((head) => (head === "" ? h("td") : h("th", { scope: "col" }, head))),
      ),
    ),
    h("tbody", null, rows.map(rowOf)),
    foot && h("tfoot", null, rowOf(foot)),
  );
}

// The same in a frame of its own that scrolls, by the keys as well; `label` names it.
export const framedTable = (label, ...table) =>
  h("div", { class: "table-frame", tabindex: "0", role: "group", "aria-label": label }, dataTable(...table));
