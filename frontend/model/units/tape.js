// A measure as a tape, a rod or a wheel shows it.
import { plain } from "./units.js";

const SIXTEENTHS = 16;
const DIGITS = {
  ft: 2,
  m: 3,
  mm: 0,
  "%": 2,
  "sq ft": 1,
  "m²": 2,
  gpm: 2,
  "L/s": 3,
  "in/h": 3,
  "mm/h": 1,
};

const SMALL_MM = 20;

// Inches to the nearest sixteenth as people write them ("10 1/2"), the rest in decimals.
export function tapeText(value, unit) {
  if (unit === "mm" && Math.abs(value) < SMALL_MM) return plain(value, 1);
  if (unit !== "in") return plain(value, DIGITS[unit] ?? 3);
  const steps = Math.round(Math.abs(value) * SIXTEENTHS);
  const sign = value < 0 && steps ? "-" : "";
  const [whole, rest] = [Math.floor(steps / SIXTEENTHS), steps % SIXTEENTHS];
  if (!rest) return `${sign}${whole}`;
  const shared = rest % 8 === 0 ? 8 : rest % 4 === 0 ? 4 : rest % 2 === 0 ? 2 : 1;
  const part = `${rest / shared}/${SIXTEENTHS / shared}`;
  return sign + (whole ? `${whole} ${part}` : part);
}
