// What would be typed for the values of a request.
import { SHEETS } from "./document.js";

export const text = (value) => (value === undefined || value === null ? "" : String(value));

// A list as it stands in one field.
export const listText = (values) => (values ?? []).join("; ");

// The row of a table that a part of a request goes to.
export const rowOf = (sheet, part) =>
  Object.fromEntries(Object.keys(SHEETS[sheet]).map((name) => [name, text(part[name])]));

// A part with every value as typed.
export const textsOf = (part, names) => Object.fromEntries(names.map((name) => [name, text(part[name])]));
