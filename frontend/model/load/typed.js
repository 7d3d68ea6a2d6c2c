// What would be typed for the values of a request.
import { SHEETS } from "../document/columns.js";
import { gradeTyped } from "../units/grade.js";

const GRADES = ["percent", "min_percent", "max_percent"];

export const text = (value) => (value === undefined || value === null ? "" : String(value));

// A list as it stands in one field.
export const listText = (values) => (values ?? []).join("; ");

// The row of a table that a part of a request goes to.
export const rowOf = (sheet, part) => Object.fromEntries(Object.keys(SHEETS[sheet]).map((name) => [name, typed(name, part[name])]));

// A part with every value as typed.
export const textsOf = (part, names) => Object.fromEntries(names.map((name) => [name, typed(name, part[name])]));

const typed = (name, value) => (GRADES.includes(name) && typeof value === "number" ? gradeTyped(value) : text(value));
