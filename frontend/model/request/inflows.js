// Water in the request: inlets, openings at the house, a pump's leg, a dry well.

import { INFLOW_FIELDS, inflowLacks, openingLacks, PUMP_NEEDS, stormLacks, WELL_NEEDS } from "../document/line_items.js";
import { isBlank } from "../units/entry.js";

// The inlets on the main line (`key` "") or on a branch; `pointer` is where that line stands in
// the request. Inlets that still lack something are left out.
export function readInflows(plan, reader, key, pointer) {
  const inflows = [];
  plan.inflows.rows.forEach((row, i) => {
    if (row.on !== key || inflowLacks(row).length) return;
    const path = `inflows.rows.${i}`;
    reader.place(`${pointer}/inflows/${inflows.length}`, path);
    inflows.push(reader.row("inflows", row, path, ["name", "kind", "at", ...INFLOW_FIELDS[row.kind]]));
  });
  reader.place(`${pointer}/inflows`, "inflows");
  return inflows.length ? { inflows } : {};
}

// The openings on the main line or on a branch; what else is asked about them is the main line's.
export function readHead(plan, reader, key, pointer) {
  const openings = [];
  plan.openings.rows.forEach((row, i) => {
    if (row.on !== key || openingLacks(row).length) return;
    const path = `openings.rows.${i}`;
    reader.place(`${pointer}/head/openings/${openings.length}`, path);
    openings.push(reader.row("openings", row, path, ["what", "elevation", "at"]));
  });
  if (!openings.length) return {};
  const { head } = key ? {} : reader.part("head", ["flow", "margin"]);
  return { head: { openings, ...head } };
}

// Which fields of an optional part are still missing; null where none is filled in at all.
export function partLacks(part, needs) {
  if (Object.values(part).every(isBlank)) return null;
  return needs.filter((name) => isBlank(part[name]));
}

const whole = (part, needs) => partLacks(part, needs)?.length === 0;

export function readPumpLeg(plan, reader) {
  if (!whole(plan.pump_leg, PUMP_NEEDS)) return {};
  return reader.part("pump_leg", [...PUMP_NEEDS, "fittings_length", "c"]);
}

// A dry well is asked about only where the line ends in one.
export function readWell(plan, reader) {
  if (plan.outlet.kind !== "dry_well" || !whole(plan.dry_well, WELL_NEEDS)) return {};
  const storms = [];
  plan.storms.rows.forEach((row, i) => {
    if (stormLacks(row).length) return;
    const path = `storms.rows.${i}`;
    reader.place(`/dry_well/storms/${storms.length}`, path);
    storms.push(reader.row("storms", row, path));
  });
  const more = reader.part("dry_well", [...WELL_NEEDS, "voids", "safety_factor"], { storms: storms.length ? storms : undefined });
  reader.place("/dry_well/storms", "storms");
  return more;
}
