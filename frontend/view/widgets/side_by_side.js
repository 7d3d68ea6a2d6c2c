// Two things side by side, a row for each part.
import { h } from "../dom.js";

// `rows` are {what, was, now}; `heads` name the two.
export function sideBySide(rows, heads) {
  return h(
    "div",
    { class: "table-frame", tabindex: 0, role: "group", "aria-label": `${heads.join(" and ")}, side by side` },
    h(
      "table",
      { class: "side-by-side" },
      h(
        "thead",
        null,
        h(
          "tr",
          null,
          h("td"),
          heads.map((head) => h("th", { scope: "col" }, head)),
        ),
      ),
      h(
        "tbody",
        null,
        rows.map(({ what, was, now }) =>
          h("tr", { class: was === now ? null : "differs" }, h("th", { scope: "row" }, what), h("td", null, was), h("td", null, now)),
        ),
      ),
    ),
  );
}
