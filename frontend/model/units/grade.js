// A grade as people say it: percent, inches per foot, 1 : n, millimetres per metre, degrees. Read
// to percent, which the planner takes, and written the same ways. A bare fraction, or a bare number
// that no pipe in a yard is laid at, could be meant in several ways: it is asked about, not guessed.
import { textOf } from "./entry.js";
import { AMOUNT, amount, normalise } from "./parse_measure.js";
import { over, rational, times, toDecimal, toNumber } from "./rational.js";
import { tapeText } from "./tape.js";
import { METRES, plain } from "./units.js";

export const GRADE_WAYS = [
  ["", "percent"],
  ["per_foot", "inches per foot"],
  ["ratio", "1 : n"],
  ["per_metre", "mm per meter"],
  ["degrees", "degrees"],
];

// Bare numbers outside of these are asked about (common practice, no source).
const LEAST_BARE = rational(3, 10);
const MOST_BARE = rational(30);
// Bare numbers up to this are also offered as fall over run, as in 0.0125.
const MOST_SHARE = rational(5, 100);
const TAPE_BOTTOMS = [2n, 4n, 8n, 16n, 32n, 64n];

const UNIT = "(in|ft|mm|cm|m)";
const OVER = String.raw`(?:per|\/|:|in|to|over|an?)`;
const PERCENT = new RegExp(`^(${AMOUNT}) ?%$`);
const DEGREES = new RegExp(`^(${AMOUNT}) ?°$`);
const RATIO = new RegExp(`^(${AMOUNT}) ?(?::|in|to|over|per) ?(${AMOUNT})$`);
const FALL_OVER_RUN = new RegExp(`^(${AMOUNT}) ?${UNIT} ?${OVER} ?(${AMOUNT})? ?${UNIT}$`);
const NUMBER_IN_LENGTH = new RegExp(`^(${AMOUNT}) in (${AMOUNT}) ?(ft|m)$`);
const LENGTH = new RegExp(`^(${AMOUNT}) ?${UNIT}$`);
const BARE = new RegExp(`^(${AMOUNT})$`);
const RUN_OF = { in: ["in", "ft"], ft: ["ft", "100 ft"], mm: ["mm", "m"], cm: ["cm", "m"], m: ["m", "100 m"] };

// Reads a grade: {value: percent, way}, {empty: true} or {error}. A question is an error that has
// `readings`, [{text, words}]: what to type for each way that it could be meant, and the same in
// words. `bare` says that no unit was typed.
export function readGrade(entry) {
  const typed = textOf(entry);
  const text = tidied(typed);
  if (text === "") return { empty: true };
  const negative = text.startsWith("-");
  const found = readUnsigned(text.replace(/^[+-] ?/, ""), typed.trim());
  if (!negative) return found;
  if (found.readings) return { ...found, readings: found.readings.map(turned) };
  return found.value === undefined ? found : { ...found, value: -found.value };
}

const turned = ({ text, words }) => ({ text: `-${text}`, words: `-${words.replace("= ", "= -")}` });

function tidied(text) {
  const plainUnits = normalise(text)
    .replace(/ of an? (?=in)/g, " ")
    .replace(/\bper ?cent\b/g, "%")
    .replace(/º|\bdeg(?:rees?|s)?\b\.?/g, "°")
    .replace(/\bmillimet(?:re|er)s?\b/g, "mm")
    .replace(/\bcentimet(?:re|er)s?\b/g, "cm")
    .replace(/\bmet(?:re|er)s?\b/g, "m");
  return plainUnits
    .replace(/(^|[^\d.])(0),(\d+)/g, "$1$2.$3")
    .replace(/(\d),(\d{1,2})(?!\d)/g, "$1.$2")
    .replace(/\s+/g, " ")
    .trim();
}

function readUnsigned(text, typed) {
  if (text.includes(",")) return { error: `Leave the comma out of “${typed}”: is it a thousand, or a decimal point?` };
  for (const [form, read] of FORMS) {
    const parts = form.exec(text);
    if (!parts) continue;
    const amounts = parts.slice(1).map((part) => (part && /\d/.test(part) ? amount(part) : part));
    if (amounts.includes(null)) return { error: "A fraction needs a bottom other than 0." };
    return read(amounts, typed, text);
  }
  return { error: `“${typed}” is not a grade this can read. Type it like 1.25 %, 1/8 in per ft, 1:80, 10 mm per m or 0.5°.` };
}

const HUNDRED = rational(100);
const NO_RUN = { error: "The length that it falls over cannot be 0." };

function inDegrees(degrees) {
  if (degrees >= 90) return { error: "Give an angle of less than 90°." };
  return { value: 100 * Math.tan((degrees * Math.PI) / 180), way: "degrees" };
}

function fallOverRun(fall, small, run, large) {
  if (run.n === 0n) return NO_RUN;
  const share = over(times(fall, METRES[small]), times(run, METRES[large]));
  const way = small === "in" && large === "ft" ? "per_foot" : ["mm", "cm"].includes(small) && large === "m" ? "per_metre" : "";
  return { value: toNumber(times(share, HUNDRED)), way };
}

const ratio = (rise, run) => (run.n === 0n ? NO_RUN : { value: toNumber(times(over(rise, run), HUNDRED)), way: "ratio" });

// "1 in 40 ft" is an inch in 40 feet, or 1 in 40.
const numberInLength = ([rise, run, unit], typed) =>
  question(typed, [`${onTape(rise)} in per ${written(run)} ${unit}`, `${written(rise)} : ${written(run)}`]);

const lengthAlone = ([value, unit], typed) => {
  const [small, run] = RUN_OF[unit];
  return {
    ...question(typed, [`${small === "in" ? onTape(value) : written(value)} ${small} per ${run}`]),
    error: `“${typed}” in what length? Press what you mean, or type it in full.`,
  };
};

function bareNumber([value], typed, text) {
  const fraction = /^\d+\/\d+$/.test(text);
  const atHand = value.n === 0n || (!less(value, LEAST_BARE) && !less(MOST_BARE, value));
  if (!fraction && atHand) return { value: toNumber(value), way: "", bare: true };
  const asPercent = `${written(value)} %`;
  if (!fraction && less(MOST_BARE, value)) return question(typed, [`1 : ${written(value)}`, `${written(value)} mm per m`, asPercent]);
  const bottom = BigInt(text.split("/")[1] ?? 8);
  const perFoot = `${onTape(value)} in per ft`;
  const asRatio = TAPE_BOTTOMS.includes(bottom) ? [] : [text.replace("/", " : ")];
  const asShare = !fraction && !less(MOST_SHARE, value) ? [`${written(times(value, HUNDRED))} %`] : [];
  return question(typed, [...asRatio, perFoot, asPercent, ...asShare]);
}

function question(typed, texts) {
  const readings = [...new Set(texts)].map((text) => {
    const { value, way } = readGrade(text);
    return { text, words: isPercent(way) ? text : `${text} = ${plain(value, 2)} %` };
  });
  return { error: `“${typed}” could be meant in more than one way. Press what you mean, or type it in full.`, readings };
}

// Each form, and what reads its parts; the first that fits counts.
const FORMS = [
  [PERCENT, ([value]) => ({ value: toNumber(value), way: "" })],
  [DEGREES, ([value]) => inDegrees(toNumber(value))],
  [FALL_OVER_RUN, ([fall, small, run, large]) => fallOverRun(fall, small, run ?? rational(1), large)],
  [NUMBER_IN_LENGTH, numberInLength],
  [RATIO, ([rise, run]) => ratio(rise, run)],
  [LENGTH, lengthAlone],
  [BARE, bareNumber],
];

const less = (a, b) => a.n * b.d < b.n * a.d;

// As a decimal where that is exact, else as a fraction.
const written = (value) => (10n ** 6n % value.d === 0n ? toDecimal(value, 6) : `${value.n}/${value.d}`);

// Inches exactly: as on a tape where they are sixteenths.
const onTape = (value) => (16n % value.d === 0n ? tapeText(toNumber(value), "in") : written(value));

// Inches as on a tape where a sixteenth is meant, else in decimals.
function inches(value) {
  const off = Math.abs(value * 16 - Math.round(value * 16));
  return off < 0.02 && Math.round(value * 16) ? tapeText(value, "in") : plain(value, 3);
}

// The way that a grade was typed in, "" for percent; null for a bare number, or where it cannot be
// read.
export function wayTyped(entry) {
  const { way, bare } = readGrade(entry);
  return bare ? null : (way ?? null);
}

// A grade in one of the ways: "1/8 in per ft".
export function gradeWords(percent, way) {
  switch (way) {
    case "per_foot":
      return `${percent < 0 ? "-" : ""}${inches(Math.abs(percent) * 0.12)} in per ft`;
    case "per_metre":
      return `${plain(percent * 10, 1)} mm per m`;
    case "ratio":
      return Math.abs(percent) < 1e-3 ? "level" : `${percent < 0 ? "-" : ""}1 : ${plain(100 / Math.abs(percent), 1)}`;
    case "degrees":
      return `${plain((Math.atan(percent / 100) * 180) / Math.PI, 2)}°`;
    default:
      return `${plain(percent, 2)} %`;
  }
}

// A grade in a column of a table: {unit, figure(percent)}, the unit to be told in its head.
export function gradeColumn(way) {
  const unit = { per_foot: "in per ft", per_metre: "mm per m" }[way] ?? "";
  return { unit, figure: (percent) => gradeWords(percent, way).replace(` ${unit}`, "") };
}

// A grade in the way that the user thinks, with percent beside it.
export const gradeText = (percent, way) =>
  isPercent(way) ? gradeWords(percent, way) : `${gradeWords(percent, way)} (${gradeWords(percent)})`;

export const isPercent = (way) => !way;

// What to type for a grade, so that it is never asked about; in the way wanted where that is exact.
export function gradeTyped(percent, way) {
  if (way === "per_foot") return `${plain(percent * 0.12, 4)} in per ft`;
  if (way === "per_metre") return `${plain(percent * 10, 3)} mm per m`;
  const text = String(percent);
  return readGrade(text).value === undefined ? `${text} %` : text;
}

// What stands beside a field that takes a grade: its percent, or the sign where a bare number stands.
export function besideGrade(entry, way) {
  const { value, bare, empty } = readGrade(entry);
  if (empty) return isPercent(way) ? "%" : "";
  if (value === undefined || /%|per ?cent/i.test(textOf(entry))) return "";
  return bare ? "%" : `= ${plain(value, 2)} %`;
}
