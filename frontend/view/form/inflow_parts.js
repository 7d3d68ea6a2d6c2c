// The optional sums beside the inlets: water backing up at the house, a pump's leg, a dry well.

import { PUMP_NEEDS, WELL_NEEDS } from "../../model/document/line_items.js";
import { partLacks } from "../../model/request/inflows.js";
import { byId, h, say } from "../dom.js";

const HEAD = [
  ["head.margin", "Keep below it by", "Empty: 3 in (76 mm)."],
  ["head.flow", "Flow to check for", "Empty: all inlets together."],
];
const PUMP = [
  ["pump_leg.rate", "Pump's rate"],
  ["pump_leg.pump_head", "Head it gives at that rate", "Head: how high it can push. From the curve of the pump."],
  ["pump_leg.lift", "Height it lifts"],
  ["pump_leg.length", "Pipe under pressure"],
  ["pump_leg.inside", "Inside diameter"],
  ["pump_leg.fittings_length", "Elbows and check valve, as pipe", "The length of straight pipe that loses as much."],
  ["pump_leg.c", "Smoothness C", "Of Hazen and Williams; empty: 150, new plastic."],
];
const WELL = [
  ["dry_well.area", "Roof and paving it takes"],
  ["dry_well.rain_depth", "Rain of the storm"],
  ["dry_well.duration", "Falls within"],
  ["dry_well.soak_rate", "The soil takes", "Measure it: how fast water sinks in a filled hole at that depth."],
  ["dry_well.stone_depth", "Stone below the pipe"],
  ["dry_well.voids", "Voids in the stone", "A share from 0 to 1; empty: 0.4."],
  ["dry_well.safety_factor", "Safety factor", "What the soil takes is divided by it, for a pit that clogs. Empty: 2."],
];
const LABELS = new Map([...PUMP, ...WELL].map(([path, label]) => [path, label]));

export function buildParts(host) {
  host.append(
    part("opening-part", "Could water come out at the house?", "head", [
      h("p", { class: "hint" }, "The lowest sill, floor drain or cleanout at the house: where water would show if the pipe backed up."),
      h("div", { id: "opening-list" }),
      h("button", { type: "button", id: "add-opening" }, "Add an opening"),
      fields(HEAD),
    ]),
    part("pump-part", "From the pump to where gravity takes over", "pump_leg", [fields(PUMP), h("p", { class: "hint", id: "pump-lacks" })]),
    part("well-part", "Size of the dry well", "dry_well", [
      fields(WELL),
      h("p", { class: "hint", id: "well-lacks" }),
      h("p", { class: "hint" }, "Which storm asks for the largest pit shows only by trying several: short and hard, long and steady."),
      h("div", { id: "storm-list", "data-error-for": "storms" }),
      h("button", { type: "button", id: "add-storm" }, "Add a storm"),
    ]),
  );
}

// Show the dry well where the line ends in one, and what each part still needs.
export function showParts(plan) {
  byId("well-part").hidden = plan.outlet.kind !== "dry_well";
  say(byId("pump-lacks"), lacksWords("pump_leg", partLacks(plan.pump_leg, PUMP_NEEDS)));
  say(byId("well-lacks"), lacksWords("dry_well", partLacks(plan.dry_well, WELL_NEEDS)));
}

function lacksWords(part, lacks) {
  if (!lacks?.length) return "";
  return `Not counted yet. Still needed: ${lacks.map((name) => LABELS.get(`${part}.${name}`).toLowerCase()).join(", ")}.`;
}

function part(id, summary, errorFor, children) {
  return h(
    "details",
    { class: "more", id },
    h("summary", null, summary),
    h("div", { class: "parts", "data-error-for": errorFor }, children),
  );
}

const fields = (list) =>
  h(
    "div",
    { class: "pair" },
    list.map(([path, label, hint]) => {
      const id = path.replaceAll(/[._]/g, "-");
      return h(
        "div",
        { class: "field" },
        h("label", { for: id }, label),
        h("input", { id, "data-path": path }),
        hint && h("p", { class: "hint" }, hint),
      );
    }),
  );
