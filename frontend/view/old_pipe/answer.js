// What is said of an old pipe: a sentence, a small drawing from the side, its points, what to move.
import { pointWords, waterShapes } from "../../model/request/old_pipe.js";
import { exaggeration, roundStep, spacedLabels, ticks } from "../../model/units/axis_scale.js";
import { depthText, plain, unitOf } from "../../model/units/units.js";
import { h, say, svg } from "../dom.js";
import { framedTable } from "../widgets/data_table.js";
import { cautionList } from "../widgets/footnotes.js";

const EDGE = { left: 52, right: 16, top: 12, bottom: 26 };
const TALL = 180;
const LETTER_PX = 7;

export class OldPipeAnswer {
  #answer = null;

  constructor() {
    this.sentence = h("p", { class: "old-pipe-sentence", id: "old-pipe-sentence", role: "status" });
    this.drawing = h("div", { class: "profile", id: "old-pipe-drawing" });
    this.stretch = h("p", { class: "stretch" });
    this.figures = h("p", { id: "old-pipe-figures" });
    this.rest = h("div", { class: "parts" });
    this.element = h(
      "div",
      { class: "parts old-pipe-answer", hidden: true },
      this.sentence,
      this.drawing,
      this.stretch,
      this.figures,
      this.rest,
    );
    new ResizeObserver(() => this.#draw()).observe(this.drawing);
  }

  get isShown() {
    return !this.element.hidden;
  }

  clear() {
    this.#answer = null;
    this.element.hidden = true;
    say(this.sentence, "");
  }

  // What is shown is from before the last change.
  age() {
    this.element.classList.add("waiting");
  }

  show(answer) {
    this.#answer = answer;
    this.element.hidden = false;
    this.element.classList.remove("waiting");
    this.sentence.dataset.verdict = answer.verdict;
    say(this.sentence, answer.sentence);
    say(this.figures, figureWords(answer));
    this.rest.replaceChildren(...parts(answer).filter(Boolean));
    this.#draw();
  }

  #draw() {
    const wide = Math.round(this.drawing.clientWidth);
    if (!this.#answer || wide < 100) return;
    const { element, stretch } = drawingOf(this.#answer, wide);
    this.drawing.replaceChildren(element);
    say(this.stretch, stretch === 1 ? "true to scale" : `heights drawn ${plain(stretch, 1)} × their true size`);
  }
}

function figureWords({ fall, length, percent, least_percent: least, least_told: told, units }) {
  const whole = fall < 0 ? `It rises ${depthText(-fall, units)}` : `It falls ${depthText(fall, units)}`;
  const overall = `${whole} over ${plain(length, 2)} ${unitOf("distance", units)}: ${plain(percent, 2)} % overall. Each stretch should fall ${plain(least, 2)} %.`;
  return told ? `${overall} A belly under ${depthText(told, units)} could be an error of these readings.` : overall;
}

function parts(answer) {
  const list = (sentences, className) =>
    sentences.length > 0 &&
    h(
      "ul",
      { class: className },
      sentences.map((text) => h("li", null, text)),
    );
  const wrong = [...answer.standing_water, ...answer.stretches.filter((one) => one.falls_back)].map(({ sentence }) => sentence);
  const { moves, sentence } = answer.least_moves;
  return [
    list(wrong, answer.verdict === "no" ? "trench-wrong" : "trench-wrong old-pipe-perhaps"),
    list(
      answer.warnings.map(({ text }) => text),
      "trench-wrong old-pipe-perhaps",
    ),
    table(answer),
    h("p", { id: "old-pipe-moves" }, h("b", null, sentence)),
    moves?.length > 1 &&
      list(
        moves.map((move) => move.sentence),
        "old-pipe-moves",
      ),
    list(
      answer.assumptions.map(({ text, value, unit, source }) => `${text}: ${plain(value, 3)} ${unit} (default: ${source}).`),
      "hint old-pipe-usual",
    ),
    ...cautionList(answer.cautions),
  ];
}

function table(answer) {
  const unit = unitOf("elevation", answer.units);
  const heads = ["Station", ["Inside bottom", ` ${unit}`], "Grade from here", "Water stands", "Least move"];
  return framedTable(
    "Table of points of the old pipe",
    heads,
    pointWords(answer).map(({ label, invert, grade, state, water, move }) => [
      label,
      invert,
      h("td", { class: state && `is-${state}` }, grade, state && h("small", null, state === "back" ? "falls back" : "too flat")),
      water,
      move,
    ]),
    { look: "bases old-pipe-points", caption: `The old pipe, levels from ${answer.datum}` },
  );
}

// The pipe's inside bottom from the side, with the water that stands in it.
function drawingOf(answer, wide) {
  const { points, units } = answer;
  const levels = points.map(({ invert }) => invert);
  const [high, low, first] = [Math.max(...levels), Math.min(...levels), points[0].at];
  const length = points.at(-1).at - first;
  const across = wide - EDGE.left - EDGE.right;
  const room = TALL - EDGE.top - EDGE.bottom;
  const stretch = exaggeration(length, high - low, across, room);
  const perUnit = across / length;
  const x = (at) => EDGE.left + (at - first) * perUnit;
  const slack = (room - (high - low) * perUnit * stretch) / 2;
  const y = (level) => EDGE.top + slack + (high - level) * perUnit * stretch;
  const path = (corners) => `M${corners.map(([at, level]) => `${x(at).toFixed(1)} ${y(level).toFixed(1)}`).join("L")}`;
  const step = roundStep(high - low, 4);
  const digits = Math.max(0, -Math.floor(Math.log10(step)));
  const places = points.map(({ at }) => x(at));
  const widest = Math.max(...points.map(({ label }) => label.length)) * LETTER_PX + 8;
  const named = spacedLabels(places, widest, [0, points.length - 1]);
  const element = svg(
    "svg",
    {
      viewBox: `0 0 ${wide} ${TALL}`,
      width: wide,
      height: TALL,
      role: "img",
      "aria-label": `The old pipe from the side. ${answer.sentence}`,
    },
    svg("text", { class: "height-label", x: 2, y: 11 }, unitOf("elevation", units)),
    ticks(low, high, step).map((level) => [
      svg("line", { class: "height", x1: EDGE.left, x2: wide - EDGE.right, y1: y(level), y2: y(level) }),
      svg("text", { class: "height-label", x: EDGE.left - 6, y: y(level) + 4, "text-anchor": "end" }, plain(level, digits)),
    ]),
    waterShapes(answer).map((corners) => svg("path", { class: "old-pipe-water", d: `${path(corners)}Z` })),
    svg("path", { class: "old-pipe-bottom", d: path(points.map(({ at, invert }) => [at, invert])) }),
    answer.stretches.map(
      (one, i) =>
        one.falls_back &&
        svg("path", {
          class: "old-pipe-back",
          d: path([
            [one.from, levels[i]],
            [one.to, levels[i + 1]],
          ]),
        }),
    ),
    points.map(({ at, invert, label }, i) => [
      svg("circle", { class: "old-pipe-point", cx: x(at), cy: y(invert), r: 4 }),
      named.includes(i) &&
        svg("text", { class: "station-label", x: Math.min(places[i], wide - widest / 2), y: TALL - 8, "text-anchor": "middle" }, label),
    ]),
  );
  return { element, stretch };
}
