// The fields of a ground that is known by its drop alone, of one from a raster, and of a level
// turned at every step.
import { BY_DROP } from "../../model/document/branch_columns.js";
import { TURNED } from "../../model/request/drop.js";
import { h, idOf, say } from "../dom.js";
import { optionsOf } from "../widgets/item_list.js";
import { BY_HAND } from "./advanced.js";

const OF = [
  ["", "choose"],
  ["ground", "the ground, from start to end"],
  ["pipe", "the pipe itself, down to a drain it ties into"],
];
const HINT = {
  ground:
    "Between its two ends the ground is taken as an even slope. The answer says how high a rise, or how deep a dip, " +
    "would spoil it, and where to measure next.",
  pipe:
    "Whether the pipe has grade enough can be told, but no depth and no cover: the ground over it is not known. " +
    "The start's invert counts as 0 until you give another.",
};

const RASTER_WORDS =
  "The ground is read from the raster along your line, cell by cell. A raster from the air is often 4 in (10 cm) off: " +
  "good for choosing a line, not for the last inch. Check it with a string before you dig.";
const PINNED_WORDS =
  "A few readings by hand make it much surer. Hang a level string, or set up a laser, at any height over your line, and " +
  "measure from it down to the ground at two stations or more. If you move it to another height, give each string a name.";
const HEIGHTS_IN = [
  ["", "as the file states"],
  ["m", "meters"],
  ["ft", "feet"],
  ["us-ft", "US survey feet"],
];
const READ_WITH = [["", "the usual: string and line level"], ...BY_HAND];

// Draw the fields into `host`. The form keeps them and shows each one's unit.
export function drawDrop(host, form) {
  const field = (name, label, hint) => {
    const path = `${BY_DROP}.${name}`;
    return h(
      "div",
      { class: "field" },
      h("label", { for: idOf(path) }, label),
      h("input", { id: idOf(path), "data-path": path, autocomplete: "off" }),
      hint && h("p", { class: "hint" }, hint),
    );
  };
  const path = `${BY_DROP}.of`;
  const of = h("select", { id: idOf(path), "data-choice": path }, optionsOf(OF));
  const hump = h(
    "div",
    { class: "pair", id: "drop-hump" },
    field("hump_at", "A hump at station", "Where there is one."),
    field("hump_height", "Hump above the even slope", "A dip counts as minus."),
  );
  const hint = h("p", { class: "hint", id: "drop-hint" });
  host.replaceChildren(
    h("div", { class: "field" }, h("label", { for: of.id }, "The drop is that of"), of),
    hint,
    h("div", { class: "pair" }, field("drop", "Drop from start to end", "The length of the run goes under “Where it runs”.")),
    hump,
  );
  form.bindChoice(of);
  for (const input of host.querySelectorAll("input")) form.bind(input);
}

// The words and fields for each choice of whose drop it is.
export function showDrop(host, of) {
  say(host.querySelector("#drop-hint"), HINT[of] ?? "");
  host.querySelector("#drop-hump").hidden = of !== "ground";
}

// Whether the level was turned end for end at every step.
export function turnedField() {
  const path = "steps.reversed";
  return h(
    "div",
    { class: "field turned" },
    h("label", { for: idOf(path) }, "Level turned end for end"),
    h("select", { id: idOf(path), "data-choice": path }, optionsOf(TURNED)),
  );
}

const choiceOf = (path, label, options) =>
  h(
    "div",
    { class: "field" },
    h("label", { for: idOf(path) }, label),
    h("select", { id: idOf(path), "data-choice": path }, optionsOf(options)),
  );

// What stands above and below the table of what was read by hand over a raster.
export const rasterFields = () => ({
  above: [
    h("p", { class: "hint" }, RASTER_WORDS),
    choiceOf("raster.vertical_unit", "Heights in the file are in", HEIGHTS_IN),
    h("p", { class: "hint" }, PINNED_WORDS),
  ],
  below: choiceOf("raster.read_with", "Readings taken with", READ_WITH),
});
