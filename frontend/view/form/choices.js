// Words and grey values that follow the choices made: the pipe, how it starts, how it ends.

import { fetchPipes } from "../../api/planner.js";
import { takenValues } from "../../model/changes/conditions.js";
import { isDiggable, OWN_PIPE, unitAt } from "../../model/document/document.js";
import { gradeText, gradeWords, isPercent } from "../../model/units/grade.js";
import { plain, unitOf } from "../../model/units/units.js";
import { byId, h, say } from "../dom.js";

const START = {
  cover: ["Cover at the start", "Cover is the soil from the ground down to the top of the pipe."],
  depth: ["Depth at the start", "From the ground down to the trench bottom."],
  invert: ["Invert at the start", "The invert is the lowest point inside the pipe; give its elevation in the same terms as your ground."],
};
const OUTLET = {
  pop_up: (us) =>
    `The pipe ends under a lid that water lifts. Bottom of the trench to the lid: about ${us ? "7 to 10 in for 4 in" : "180 to 250 mm for 100 mm"} pipe.`,
  daylight: () => "The pipe comes out of the slope and runs free: the best end, nothing stands in it.",
  curb: () => "The gutter is a fixed level: measure it, and give it here. Needs a permit in most towns.",
  dry_well: () => "A pit of stone that soaks water away. How deep it comes in is yours to set.",
  tie_in: () => "The other drain is a fixed level: measure it, and give it here.",
};

const BY_PIPE = "The start's invert and the drop of the pipe give the level here: leave it empty.";

const GRADE = {
  us: "Grade is fall along the run: 1 % is 1 ft in 100 ft, about 1/8 in per foot. Type it as you say it: 1.25 %, 1/8 in per ft, 1:80, 0.5°.",
  si: "Grade is fall along the run: 1 % is 1 m in 100 m, 10 mm per meter. Type it as you say it: 1.25 %, 10 mm per m, 1:80, 0.5°.",
};

export class Choices {
  #pipes = new Map();

  constructor(store, form) {
    Object.assign(this, { store, form, select: byId("pipe-code"), facts: byId("pipe-facts") });
  }

  // Fetch the catalogue in both systems and list it.
  async load() {
    const [us, si] = await Promise.all([fetchPipes("us"), fetchPipes("si")]);
    this.#pipes = new Map([
      ["us", us],
      ["si", si],
    ]);
    this.select.replaceChildren(
      ...[...grouped(us)].map(([material, pipes]) =>
        h(
          "optgroup",
          { label: material },
          pipes.map(({ code, name }) => h("option", { value: code }, name)),
        ),
      ),
      h("option", { value: OWN_PIPE }, "My own pipe, by its measures"),
    );
  }

  // The catalogue of pipes.
  get pipes() {
    return this.#pipes.get("us");
  }

  show(plan) {
    const pipe = this.#pipes.get(plan.units)?.find(({ code }) => code === plan.pipe.code);
    const depth = unitOf("depth", plan.units);
    if (pipe) {
      const size = (value) => `${plain(value, plan.units === "us" ? 3 : 1)} ${depth}`;
      say(
        this.facts,
        `Outside ${size(pipe.outside)}, inside ${size(pipe.inside)}; minimum grade ` + `${gradeText(pipe.min_percent, plan.grade.way)}.`,
      );
      say(byId("pipe-source"), `Its sources: ${pipe.source}.`);
      for (const name of ["outside", "inside", "wall"]) {
        this.form.suggest(`pipe.${name}`, plain(pipe[name], plan.units === "us" ? 3 : 1));
      }
      this.form.suggest("pipe.n", String(pipe.n));
    } else {
      say(this.facts, "Give its diameters and roughness below.");
      say(byId("pipe-source"), "");
      for (const name of ["outside", "inside", "wall", "n"]) this.form.suggest(`pipe.${name}`, "");
      byId("pipe-sizes").open = true;
    }
    const [label, hint] = START[plan.start.by];
    say(byId("start-label"), label);
    say(byId("start-hint"), hint);
    say(byId("outlet-hint"), isDiggable(plan) ? OUTLET[plan.outlet.kind](plan.units === "us") : BY_PIPE);
    say(byId("grade-hint"), GRADE[plan.units]);
  }

  nameOf(code) {
    return this.#pipes.get("us").find((pipe) => pipe.code === code)?.name ?? code;
  }

  // Show what an answer took as usual as grey text in the empty fields.
  showUsual(answer) {
    const usual = new Map([...answer.assumptions.map(({ pointer, value }) => [pointer, value]), ...takenValues(answer.answer)]);
    for (const [path, pointer] of this.form.usualPlaces()) {
      const value = usual.get(pointer);
      const {
        grade: { way },
      } = this.store.plan;
      const inWay = value !== undefined && pointer.endsWith("_percent") && !isPercent(way);
      this.form.suggest(
        path,
        value === undefined ? "none" : inWay ? gradeWords(value, way) : plain(value, unitAt(this.store.plan, path) === "mm" ? 0 : 2),
      );
    }
  }
}

function grouped(pipes) {
  const groups = new Map();
  for (const pipe of pipes) groups.set(pipe.material, [...(groups.get(pipe.material) ?? []), pipe]);
  return groups;
}
