// A grade set without a laser: the block under a level and the gap under a board, run by run.
import { stationLabel } from "../../model/units/units.js";
import { h } from "../dom.js";

// One list for each run that falls; a run is named where there are several.
export function blockLists({ grade_runs: runs = [], units }) {
  const told = runs.filter(({ board }) => board);
  return told.map(({ from, to, level_blocks: blocks, board }) =>
    h(
      "div",
      null,
      told.length > 1 && h("h3", null, `${stationLabel(from, units)} to ${stationLabel(to, units)}`),
      h(
        "ul",
        { class: "level-blocks" },
        [...blocks, board].map(({ text }) => h("li", null, text)),
      ),
    ),
  );
}
