// What frames the check in the trench: its card beside the plan, its dialog, and where a reading is
// typed. The elements that change come from the check.

import { h } from "../dom.js";

export const opener = (onclick) => h("button", { type: "button", id: "trench-open", class: "primary", onclick }, "Check the trench");

export const checkCard = ({ opener, summary }) =>
  h(
    "section",
    { class: "card", id: "trench", "aria-labelledby": "trench-card-title", hidden: true },
    h("div", { class: "card-head" }, h("h2", { id: "trench-card-title" }, "Was it dug right?"), opener),
    h(
      "p",
      { class: "hint" },
      "In the trench, type what each station reads: it says at once whether it is good, or how much to shave or fill. Cover nothing before it passes.",
    ),
    summary,
  );

export const readingEntry = ({ input, unit, remove, error }) =>
  h(
    "div",
    { class: "trench-entry" },
    h("div", { class: "field" }, h("label", { for: "trench-reading" }, "It reads"), h("span", { class: "measure" }, input, unit, remove)),
    error,
  );

export const nowBox = ({ which, label, or, should, entry, same, result, again, skip, onward }) =>
  h(
    "div",
    { class: "trench-now", tabindex: "-1" },
    h("div", { class: "trench-head" }, h("p", { class: "trench-next" }, which, " ", label, or), should),
    entry,
    same,
    h("div", { class: "trench-last" }, result, again, skip, onward),
  );

// The dialog over the whole page; `leave` closes it, by its button or the Escape key.
export const checkDialog = ({ verdict, alarm, now, page }, pad, leave) =>
  h(
    "dialog",
    {
      class: "trench-view",
      id: "trench-view",
      "aria-labelledby": "trench-title",
      oncancel: (event) => {
        event.preventDefault();
        leave();
      },
    },
    h(
      "div",
      { class: "trench-top" },
      h("h2", { id: "trench-title" }, "In the trench"),
      h("button", { type: "button", id: "trench-close", onclick: leave }, "Back to the plan"),
    ),
    h("div", { class: "trench-told" }, verdict, alarm),
    now,
    page,
    pad,
  );
