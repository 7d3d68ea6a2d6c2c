// Plans to start from: the demo yard's lines and readings, and an empty plan.

import { SHEETS } from "../model/document/columns.js";
import { demoDocument } from "../model/document/demo_document.js";
import { blankDocument, inUnits, withLine } from "../model/document/document.js";

export function examplePlans(demo, units) {
  const lines = Object.entries(demo.routes).map(([key, { name, about }]) => ({
    text: `Demo line: ${name}`,
    about,
    plan: () => demoDocument(demo, key, units),
  }));
  return [
    ...lines,
    {
      text: "Example readings from a string",
      about: "Readings down from a level string that was hung twice, ready to change.",
      plan: () => examplePlan(demo, "level_line", units),
    },
    {
      text: "Example level book",
      about: "Leveling notes with a turning point, closed on the benchmark.",
      plan: () => examplePlan(demo, "rod", units),
    },
    {
      text: "An empty plan",
      about: "Nothing measured yet. Undo brings back what you have now.",
      plan: () => emptyPlan(demo, units),
    },
  ];
}

// The demo yard's own readings as a plan, in the units wanted.
export function examplePlan(demo, kind, units) {
  const plan = { ...emptyPlan(demo, "us"), ground: kind };
  const filled =
    kind === "rod"
      ? { ...plan, rod: { ...plan.rod, ...bookOf(demo.notes) } }
      : { ...plan, level_line: { rows: demo.readings.map((row) => rowOf("level_line", row)) } };
  return inUnits(filled, units);
}

// An empty plan that keeps the demo yard under its map, with no line drawn.
export function emptyPlan(demo, units) {
  return withLine({ ...blankDocument(units), base: demo.raster ?? "blank" }, []);
}

function bookOf({ benchmark, rod_unit: unit, shots, distance }) {
  return {
    unit: unit ?? "ft",
    benchmark: { name: benchmark.name, elevation: String(benchmark.elevation) },
    distance: distance === undefined ? "" : String(distance),
    rows: shots.map((shot) => rowOf("rod", shot)),
  };
}

const rowOf = (kind, values) =>
  Object.fromEntries(Object.keys(SHEETS[kind]).map((name) => [name, values[name] === undefined ? "" : String(values[name])]));
