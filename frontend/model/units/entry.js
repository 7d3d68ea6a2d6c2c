// What stands in a field. A plain string is what the user typed, in the field's present unit.
// After a switch of units it is {shown, typed, unit}: `shown` is for the eye, while the value is
// still exactly `typed` in `unit`, so switching to and fro loses nothing.

import { readMeasure } from "./parse_measure.js";
import { over, times, toNumber } from "./rational.js";
import { tapeText } from "./tape.js";
import { sizeOf } from "./units.js";

export const textOf = (entry) => (typeof entry === "object" ? entry.shown : (entry ?? ""));

// What a converted entry was typed as: "10 1/2 in"; "" where it stands as typed.
export const typedAs = (entry) => (typeof entry === "object" ? `${entry.typed} ${entry.unit}` : "");

export const isBlank = (entry) => textOf(entry).trim() === "";

// Reads an entry in the field's present unit: {value: number}, {empty: true} or {error}.
export function readEntry(entry, unit) {
  const found = readExactly(entry, unit);
  return found.value ? { value: toNumber(found.value) } : found;
}

const FEW_MM = 5;

// A reading from a string in mm; one of a few mm without a unit may have been meant in metres, so it is
// asked about, as a grade is.
export function readString(entry) {
  const found = readEntry(entry, "mm");
  const text = textOf(entry).trim();
  if (typeof entry === "object" || !(found.value > 0 && found.value < FEW_MM) || /[a-z]/i.test(text)) return found;
  const [few, many] = [found.value, found.value * 1000].map((value) => `${Number(value.toFixed(3))} mm`);
  const readings = [
    { text: many, words: `${many}, typed in metres` },
    { text: few, words: few },
  ];
  return { error: `“${text}” would be ${few}. Press what you mean.`, readings };
}

function readExactly(entry, unit) {
  if (typeof entry !== "object") return readMeasure(entry ?? "", unit);
  const typed = readMeasure(entry.typed, entry.unit);
  return typed.value ? { value: converted(typed.value, entry.unit, unit) } : typed;
}

const converted = (value, from, to) => (from === to ? value : over(times(value, sizeOf(from)), sizeOf(to)));

// The entry after its field changes unit. Text that cannot be read stays as it is.
export function convertEntry(entry, from, to) {
  if (from === to || isBlank(entry)) return entry;
  const origin = typeof entry === "object" ? entry : { typed: entry, unit: from };
  if (origin.unit === to) return origin.typed;
  const found = readMeasure(origin.typed, origin.unit);
  if (!found.value) return entry;
  const shown = tapeText(toNumber(converted(found.value, origin.unit, to)), to);
  return { shown, typed: origin.typed, unit: origin.unit };
}

// A list of measures in one field, parted by semicolons or new lines: {values} or {error}.
export function readList(entry, unit) {
  const origin = typeof entry === "object" ? entry : { typed: entry ?? "", unit };
  const values = [];
  for (const piece of pieces(origin.typed)) {
    const found = readMeasure(piece, origin.unit);
    if (found.error) return found;
    values.push(toNumber(converted(found.value, origin.unit, unit)));
  }
  return { values };
}

const pieces = (text) => text.split(/[;\n]+|, +/).filter((piece) => piece.trim() !== "");

// `convertEntry` for a list.
export function convertList(entry, from, to) {
  if (from === to || isBlank(entry)) return entry;
  const origin = typeof entry === "object" ? entry : { typed: entry, unit: from };
  if (origin.unit === to) return origin.typed;
  const shown = pieces(origin.typed).map((piece) => convertEntry(piece, origin.unit, to));
  return { shown: shown.map(textOf).join("; "), typed: origin.typed, unit: origin.unit };
}
