// Depths and levels as a crew says them: never a negative tape.
import { depthText, plain } from "../units/units.js";

const digitsOf = (units) => (units === "us" ? 1 : 0);

// Whether a depth, as it is rounded for people, is above the ground.
const isAbove = (depth, units) => Number(plain(depth, digitsOf(units))) < 0;

// "12 in deep"; "3 in above the ground" for a trench bottom that does not reach it.
export const deepWords = (depth, units) =>
  isAbove(depth, units) ? `${depthText(-depth, units)} above the ground` : `${depthText(depth, units)} deep`;

// What lies over the pipe, or how far the pipe stands out.
export const coverWords = (cover, units) =>
  isAbove(cover, units)
    ? `the pipe stands ${depthText(-cover, units)} out of the ground`
    : `${depthText(cover, units)} of soil over the pipe`;

// Cover in a cell of a table whose head tells the unit: "8", "3 out".
export const coverCell = (cover, units) =>
  isAbove(cover, units) ? `${plain(-cover, digitsOf(units))} out` : plain(cover, digitsOf(units));

// The mark to dig to, and the exact depth: {main, exact}.
export const digCell = ({ marks, dig_depth: depth }, units) =>
  isAbove(depth, units)
    ? { main: "none", exact: `${plain(-depth, digitsOf(units))} above ground` }
    : { main: marks.dig_depth, exact: plain(depth, digitsOf(units)) };

// A level under a string, from an elevation that counts from it: "9 in below".
export const belowWords = (elevation, units) => {
  const depth = elevation * (units === "us" ? 12 : 1000);
  return `${depthText(Math.abs(depth), units)} ${isAbove(depth, units) ? "below" : "above"}`;
};

// Whether levels count from a string: then they are told as above or below it.
export const isStrung = ({ references = [] }) => references.length > 0 && references.every(({ kind }) => kind === "line");

// Where the trench bottom would be above the ground: the worst station, in a sentence.
export function outOfGroundWords({ stations, units }) {
  const out = stations.filter(({ dig_depth: depth }) => depth !== null && isAbove(depth, units));
  if (!out.length) return [];
  const worst = out.reduce((a, b) => (b.cover < a.cover ? b : a));
  return [`The pipe stands ${depthText(-worst.cover, units)} out of the ground at ${worst.label}.`];
}
