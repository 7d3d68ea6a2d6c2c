// The table of stations that a crew digs by.

import { gradeColumn, gradeText, gradeWords, isPercent } from "../../model/units/grade.js";
import { tapeText } from "../../model/units/tape.js";
import { plain, unitOf } from "../../model/units/units.js";
import { coverCell, digCell } from "../../model/wording/depths.js";
import { byId, h, say } from "../dom.js";
import { blockLists } from "./level_blocks.js";

export class StationTable {
  #rows = [];

  constructor(mark) {
    this.mark = mark;
    this.table = byId("station-table");
    mark.watch((at) => this.#show(at));
    this.table.addEventListener("pointerleave", () => mark.point(null));
  }

  // `ground` is the ground of the request that was answered.
  show(plan, ground) {
    byId("stations").hidden = false;
    say(byId("stations-title"), plan.ground_known ? "Stations to dig by" : "Levels along the pipe");
    const focused = document.activeElement?.closest("#station-table button")?.dataset.at;
    const columns = columnsOf(plan, ground.kind, ground.rod_unit);
    const head = h(
      "tr",
      null,
      columns.map(({ head: text, unit }) => h("th", { scope: "col" }, text, unit && h("span", { class: "unit" }, ` ${unit}`))),
    );
    this.#rows = plan.stations.map((station) => this.#row(station, columns, plan));
    this.table.replaceChildren(
      h("caption", { class: "unseen" }, "Every station with its depths, from the start to the outlet"),
      h("thead", null, head),
      h(
        "tbody",
        null,
        this.#rows.map((row) => row.element),
      ),
    );
    if (focused) this.table.querySelector(`button[data-at="${focused}"]`)?.focus();
    this.#show(this.mark.at);
    say(byId("marks-note"), marksNote(plan));
    const blocks = blockLists(plan);
    byId("by-level").hidden = !blocks.length;
    byId("by-level-list").replaceChildren(...blocks);
  }

  #row(station, columns, plan) {
    const { pinch, verdict } = plan.answer;
    const tight = [pinch.upstream, pinch.downstream].includes(station.at);
    const button = h(
      "button",
      {
        type: "button",
        class: "station",
        "data-at": station.at,
        onfocus: () => this.mark.pin(station.at),
        onclick: () => this.mark.pin(station.at),
      },
      station.label,
    );
    const note = noteOf(station);
    const cells = columns.slice(1).map(({ cell }) => {
      const { main, exact } = cell(station, plan);
      return h("td", null, main, exact && h("small", null, exact));
    });
    const element = h(
      "tr",
      {
        class: tight && (verdict === "no" ? "tight bad" : "tight"),
        onpointerenter: (event) => event.pointerType !== "touch" && this.mark.point(station.at),
        onclick: () => this.mark.pin(station.at),
      },
      h("th", { scope: "row" }, button, note && h("small", null, note)),
      cells,
    );
    return { at: station.at, element };
  }

  #show(at) {
    for (const row of this.#rows) row.element.classList.toggle("marked", row.at === at);
  }
}

function noteOf({ why, source }) {
  if (why.includes("start")) return "start";
  if (why.includes("outlet")) return "outlet";
  if (why.includes("bend")) return "bend";
  return source === "interpolated" ? "between readings" : null;
}

// The columns left where the ground is not known: the pipe's own levels.
const levels = (units, grade) => [
  {
    head: "Below the start",
    unit: unitOf("depth", units),
    cell: (s, plan) => ({
      main: h("b", null, tapeText((plan.start.invert - s.invert) * (units === "us" ? 12 : 1000), unitOf("depth", units))),
    }),
  },
  { head: "Invert", unit: unitOf("elevation", units), cell: (s) => ({ main: s.invert.toFixed(units === "us" ? 2 : 3) }) },
  grade,
];

function columnsOf({ units, way, fills, ground_known: known }, kind, rodUnit) {
  const depth = unitOf("depth", units);
  const shallow = { head: "Cover", unit: depth, cell: (s) => ({ main: coverCell(s.cover, units) }) };
  const grade = isPercent(way)
    ? { head: "Grade", unit: "%", cell: (s) => ({ main: s.grade_percent.toFixed(2) }) }
    : {
        head: "Grade",
        unit: gradeColumn(way).unit,
        cell: (s) => ({ main: gradeColumn(way).figure(s.grade_percent), exact: gradeWords(s.grade_percent) }),
      };
  if (!known) return [{ head: "Station" }, ...levels(units, grade)];
  const dig = {
    head: "Dig",
    unit: depth,
    cell: (s) => {
      const { main, exact } = digCell(s, units);
      return { main: h("b", null, main), exact };
    },
  };
  const read = (READ_DOWN[kind] ?? readElevation)(units, depth, rodUnit);
  const lay = { head: "Soil to lay", unit: depth, cell: (s) => ({ main: s.fill ? tapeText(s.fill, depth) : "–" }) };
  return [{ head: "Station" }, read[0], dig, ...read.slice(1), ...(fills?.length ? [lay] : []), shallow, grade];
}

// What is read at a station: on the ground and, where it is read down from a level, at the
// trench bottom.
const READ_DOWN = {
  level_line: (units, depth) => [
    {
      head: "String to ground",
      unit: depth,
      cell: (s) => ({ main: given(s.line_to_bottom, (v) => tapeText(v - s.dig_depth, depth)) }),
    },
    {
      head: "String to bottom",
      unit: depth,
      cell: (s) => ({
        main: h("b", null, s.marks.line_to_bottom ?? "–"),
        exact: given(s.line_to_bottom, (v) => plain(v, units === "us" ? 1 : 0)),
      }),
    },
  ],
  rod: (units, depth, rodUnit) => {
    const fine = (value) => value.toFixed({ ft: 2, in: 1, m: 3, mm: 0 }[rodUnit]);
    const per = METRES[depth] / METRES[rodUnit];
    return [
      {
        head: "Rod on ground",
        unit: rodUnit,
        cell: (s) => ({ main: given(s.rod_at_bottom, (v) => fine(v - s.dig_depth * per)) }),
      },
      {
        head: "Rod on bottom",
        unit: rodUnit,
        cell: (s) => ({ main: h("b", null, s.marks.rod_at_bottom ?? "–") }),
      },
    ];
  },
};

const readElevation = (units) => [
  { head: "Ground", unit: unitOf("elevation", units), cell: (s) => ({ main: s.ground.toFixed(units === "us" ? 2 : 3) }) },
];

const METRES = { in: 0.0254, ft: 0.3048, m: 1, mm: 0.001 };
const given = (value, write) => (value === null ? "–" : write(value));

function marksNote({ units, marks, stations, grade_runs: runs, way, ground_known: known }) {
  if (!known) return "How far the inside bottom of the pipe lies below its start. How deep to dig is known once the ground is measured.";
  const step = tapeText(marks.step, unitOf("depth", units));
  const strung = stations.some((s) => s.line_to_bottom !== null);
  const check =
    strung && runs.length === 1
      ? " From the string the numbers grow by the same step at equal stations, whatever the " + "ground does: the best check there is."
      : "";
  const flattest = marks.worst_percent === null ? "" : ` The flattest stretch between two marks is ${gradeText(marks.worst_percent, way)}.`;
  return (
    `Bold is what to read on the tape, in steps of ${step}, so that every stretch between ` +
    `marks keeps the minimum grade; small is exact. Dig is from the ground to the trench bottom.${[flattest, check, ...(marks.notes ?? []).map((note) => ` ${note}`)].join("")}`
  );
}
