// What the water does, in words and figures: every stretch by each published basis, what would
// serve, what stays after rain, the pump's leg, the dry well, and the level at which water would come out at the house.
import { gradeText } from "../../model/units/grade.js";
import { plain, stationLabel, unitOf } from "../../model/units/units.js";
import { BAND_WORDS, bandOf, linesOf, percentText } from "../../model/wording/pipe_fill.js";
import { byId, h } from "../dom.js";
import { dataTable } from "../widgets/data_table.js";

const part = (title, ...children) => h("div", { class: "water-part" }, h("h3", null, title), children);

export function showWater(answer) {
  const parts = [
    ...linesOf(answer).flatMap(({ name, answer: line }) => (line.water ? [carried(name, line, answer.way)] : [])),
    answer.outlet.water && part("Water at the outlet", outletWater(answer)),
    ...leftWet(answer),
    answer.head && part("If water backs up", h("p", null, answer.head.sentence)),
    answer.pump_leg && part("The pump", h("p", null, answer.pump_leg.sentence), pumpFacts(answer)),
    answer.dry_well && part("The dry well", h("p", null, answer.dry_well.sentence), wellFacts(answer)),
  ].filter(Boolean);
  byId("water").hidden = parts.length === 0;
  byId("water-answer").replaceChildren(...parts);
}

function carried(name, { water, units, inlets }, way) {
  const both =
    water.rain_alone && water.pumped_alone
      ? h(
          "p",
          { class: "hint" },
          `Rain alone is ${flow(water.rain_alone, units)}, the pump alone ` +
            `${flow(water.pumped_alone, units)}. Both can come in one storm, so both count at once.`,
        )
      : null;
  return part(
    name === null ? "Main line" : `Branch ${name}`,
    h("p", null, water.sentence),
    both,
    water.stretches.map((run) => stretch(run, units, way)),
    inlets.map(({ drowned, sentence }) => h("p", { class: drowned ? "drowned" : null }, sentence)),
  );
}

// What stays in the pipe below a pop-up's lid, line by line.
function leftWet(answer) {
  const wet = linesOf(answer).flatMap(({ answer: line }) => line.outlet.left_wet?.sentence ?? []);
  return wet.length
    ? [
        part(
          "After rain",
          wet.map((sentence) => h("p", null, sentence)),
        ),
      ]
    : [];
}

// What the water at the outlet does. Inlets that water runs into are named with their line.
function outletWater(answer) {
  const { sentence, places, running, floods_house: floods } = answer.outlet.water;
  const more = places.filter((place) => !sentence.includes(place.sentence) && (!running || place.kind === "start"));
  const dry = linesOf(answer).flatMap(({ answer: line }) => (line.water ? [] : line.inlets.filter(({ drowned }) => !drowned)));
  return [
    h("p", { class: floods ? "drowned" : null }, sentence),
    more.map((place) => h("p", { class: place.at_house ? "drowned" : null }, place.sentence)),
    dry.map((inlet) => h("p", null, inlet.sentence)),
  ];
}

function stretch(run, units, way) {
  if (run.flow === 0) {
    return h("p", { class: "hint" }, `No water yet from ${stationLabel(run.from, units)} to ${stationLabel(run.to, units)}.`);
  }
  const where = `${stationLabel(run.from, units)} to ${stationLabel(run.to, units)}`;
  const share = run.cautious_share;
  const speed = (value) => `${plain(value, 1)} ${unitOf("speed", units)}`;
  const clean = run.self_cleaning
    ? `It keeps itself clean: at this grade water runs at ${speed(run.velocity)}; ${speed(run.self_cleaning_velocity)} moves silt along.`
    : `It may silt up: water runs at ${speed(run.velocity)}, and it takes ${speed(run.self_cleaning_velocity)} to move silt along.`;
  const serves = run.smallest_pipe
    ? `Smallest pipe of the list that serves: ${pipeName(run.smallest_pipe)}.`
    : "No pipe of the list serves here.";
  const roof =
    run.largest_roof === null
      ? ""
      : ` Beside its other water it could take ${plain(run.largest_roof, 0)} ${unitOf("area", units)} of such roof in all.`;
  return h(
    "div",
    { class: "stretch-answer" },
    h(
      "p",
      { class: "stretch-head" },
      h("b", null, where),
      ` at ${gradeText(run.percent, way)}: `,
      flow(run.flow, units),
      share === null
        ? ""
        : [
            ", ",
            h("span", { class: `share share-${bandOf(share)}` }, percentText(share)),
            ` of what it carries (${BAND_WORDS[bandOf(share)]})`,
          ],
    ),
    dataTable(
      ["By", `Carries, ${unitOf("flow", units)}`, "Used", `Deep, ${unitOf("depth", units)}`, `Speed, ${unitOf("speed", units)}`],
      run.bases.map((basis) => [
        [`n ${basis.n}`, h("small", null, basis.source)],
        plain(basis.capacity_full, units === "us" ? 0 : 2),
        basis.share_of_capacity === null ? "–" : percentText(basis.share_of_capacity),
        basis.depth === null ? "full" : plain(basis.depth, 1),
        plain(basis.velocity, 1),
      ]),
    ),
    h("p", null, clean, " ", serves, roof),
    run.bases.length > 1 && h("p", { class: "hint" }, "Published figures for this pipe differ; the cautious one decides."),
  );
}

// A pipe's name from the list of pipes, by its code.
const pipeName = (code) => byId("pipe-code").querySelector(`option[value="${CSS.escape(code)}"]`)?.textContent ?? code;

const flow = (value, units) => `${plain(value, units === "us" ? 1 : 2)} ${unitOf("flow", units)}`;

const list = (rows) =>
  h(
    "dl",
    { class: "facts" },
    rows.map(([name, value]) => h("div", null, h("dt", null, name), h("dd", null, value))),
  );

function pumpFacts({ pump_leg: leg, units }) {
  const size = (value) => `${plain(value, 2)} ${unitOf("distance", units)}`;
  return list([
    ["Lost to friction", size(leg.friction)],
    ["Head it needs", size(leg.head_needed)],
    [leg.head_left < 0 ? "Short by" : "Head left", size(Math.abs(leg.head_left))],
  ]);
}

function wellFacts({ dry_well: well, units }) {
  const volume = (value) => `${plain(value, 1)} ${unitOf("volume", units)}`;
  return [
    list([
      ["The storm brings", volume(well.storm_volume)],
      ["The pit must store", volume(well.storage)],
      ["Stone", volume(well.stone_volume)],
      ["Bottom", `${area(well.bottom_area)} ${unitOf("area", units)}`],
      ["Across, if round", `${plain(well.diameter, 1)} ${unitOf("distance", units)}`],
      ...(well.hours_to_half === undefined ? [] : [["Half empty after", hours(well.hours_to_half)]]),
      ["Empty after", hours(well.hours_to_empty)],
    ]),
    storms(well, units),
    well.basis && h("p", { class: "hint" }, well.basis),
    h("p", { class: "hint" }, well.source),
  ];
}

const area = (value) => plain(value, value < 20 ? 1 : 0);

const hours = (value) => (value === null ? "never" : `${plain(value, value < 10 ? 1 : 0)} h`);

// Each storm that was tried, the worst of them marked; none in a plan kept before there were any.
function storms({ storms: tried = [] }, units) {
  if (tried.length < 2) return null;
  const heads = [`Rain, ${unitOf("depth", units)}`, `Stores, ${unitOf("volume", units)}`, `Bottom, ${unitOf("area", units)}`];
  return dataTable(
    ["Within, min", ...heads],
    tried.map((storm) => [
      [plain(storm.duration, 0), storm.governs && h("small", null, "governs")],
      plain(storm.rain_depth, 2),
      plain(storm.storage, 1),
      area(storm.bottom_area),
    ]),
  );
}
