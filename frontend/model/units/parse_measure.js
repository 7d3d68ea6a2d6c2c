// Reading a measure as people type it: 17, 17.5, 17 1/2, 17-1/2, 1' 5 1/2", 44.5 cm, 0+13.
import { fromDecimal, negated, over, plus, rational, times } from "./rational.js";
import { METRES } from "./units.js";

const VULGAR = {
  "½": "1/2",
  "¼": "1/4",
  "¾": "3/4",
  "⅛": "1/8",
  "⅜": "3/8",
  "⅝": "5/8",
  "⅞": "7/8",
  "⅓": "1/3",
  "⅔": "2/3",
};
const NUMBER = String.raw`(?:\d+(?:\.\d*)?|\.\d+)`;
export const AMOUNT = String.raw`(?:\d+[ -]+\d+\/\d+|\d+\/\d+|${NUMBER})`;
const PLAIN = new RegExp(`^(${AMOUNT}) ?(ft|in|mm|cm|m|%)?$`);
const FEET_INCHES = new RegExp(`^(${NUMBER}) ?ft[ ,-]*(?:(${AMOUNT}) ?(?:in)?)?$`);
const STATION = /^(\d+)\+(\d+(?:\.\d+)?)$/;
const STATION_LENGTH = { ft: 100n, m: 1000n };

// Reads `text` for a field in `unit` ("ft", "in", "m", "mm", "%" or ""). Answers
// {value: rational in that unit}, {empty: true} or {error: sentence}.
export function readMeasure(text, unit) {
  const tidy = normalise(String(text));
  if (tidy === "") return { empty: true };
  const negative = tidy.startsWith("-");
  const found = readUnsigned(negative ? tidy.slice(1).trim() : tidy.replace(/^\+\s*/, ""), unit);
  return found.value && negative ? { value: negated(found.value) } : found;
}

// Text with its signs, fractions and units of feet and inches written alike.
export function normalise(text) {
  let tidy = text
    .replace(/[\u00a0\u2009\u202f]/g, " ")
    .replace(/[−–]/g, "-")
    .trim();
  tidy = tidy.replace(/[½¼¾⅛⅜⅝⅞⅓⅔]/g, (sign) => ` ${VULGAR[sign]}`);
  tidy = tidy
    .toLowerCase()
    .replace(/⁄/g, "/")
    .replace(/\s*\/\s*/g, "/");
  tidy = tidy.replace(/''|[″”“"]|inch(?:es)?\b|in\b\.?/g, " in ");
  tidy = tidy.replace(/[′’‘']|f(?:oo|ee)t\b|ft\b\.?/g, " ft ");
  return tidy.replace(/\s+/g, " ").trim();
}

function readUnsigned(text, unit) {
  const station = STATION.exec(text);
  if (station && STATION_LENGTH[unit]) {
    const whole = rational(BigInt(station[1]) * STATION_LENGTH[unit]);
    return { value: plus(whole, fromDecimal(station[2])) };
  }
  const decimal = decimalComma(US_UNITS.has(unit) ? withoutThousands(text) : text);
  if (decimal === null) {
    return { error: `Leave the comma out of “${text}”: is it a thousand, or a decimal point?` };
  }
  const both = FEET_INCHES.exec(decimal);
  if (both?.[2]) {
    const inches = amount(both[2]);
    if (!inches) return { error: "A fraction needs a bottom other than 0." };
    return inUnit(plus(times(amount(both[1]), rational(12)), inches), "in", unit);
  }
  const one = PLAIN.exec(decimal);
  if (!one) return { error: unreadable(text, unit) };
  const value = amount(one[1]);
  if (!value) return { error: "A fraction needs a bottom other than 0." };
  return inUnit(value, one[2] ?? unit, unit);
}

// In US units "1,000" and "12,500.5" are thousands; "0,125" is not, nor is "1,0000".
const US_UNITS = new Set(["ft", "in", "sq ft", "gpm", "in/h", "ft/s", "cu yd", "per cu yd", "per sq ft"]);

const withoutThousands = (text) => text.replace(/(?<![\d.,])[1-9]\d{0,2}(?:,\d{3})+(?![\d,])/g, (number) => number.replaceAll(",", ""));

// "17,5" and "0,125" are 17.5 and 0.125; "1,000" could be either, so it is not guessed (null).
function decimalComma(text) {
  const commas = text.split(",").length - 1;
  if (commas === 0 || / ft/.test(text)) return text;
  return commas === 1 && /\d,\d{1,2}(?!\d)|(?<!\d)0,\d/.test(text) ? text.replace(",", ".") : null;
}

// An amount such as 17, 17.5, 1/2 or 17 1/2; null for a fraction over 0.
export function amount(text) {
  const parts = text.split(/[ -]+/);
  const last = parts.at(-1);
  if (!last.includes("/")) return fromDecimal(last);
  const [top, bottom] = last.split("/").map(BigInt);
  if (bottom === 0n) return null;
  const part = rational(top, bottom);
  return parts.length === 2 ? plus(rational(BigInt(parts[0])), part) : part;
}

function inUnit(value, from, to) {
  if (from === to) return { value };
  if (!METRES[from] || !METRES[to]) {
    return { error: to ? `Give this in ${to}.` : "Give a number without a unit." };
  }
  return { value: over(times(value, METRES[from]), METRES[to]) };
}

function unreadable(text, unit) {
  const example = {
    in: "17.5, 17 1/2 or 1' 5 1/2\"",
    ft: "12.5, 12' 6\" or 0+12.5",
    "%": "1.25",
  };
  return `“${text}” is not a number this can read. Type it like ${example[unit] ?? "12.5"}.`;
}
