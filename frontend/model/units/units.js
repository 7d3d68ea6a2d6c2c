// The two unit systems of the API, and the unit of every quantity in each.
import { over, rational, times } from "./rational.js";

// Exact by definition: the international foot is 0.3048 m (NIST Handbook 44, Appendix C).
export const METRES = {
  ft: rational(3048, 10000),
  in: rational(254, 10000),
  m: rational(1),
  cm: rational(1, 100),
  mm: rational(1, 1000),
};

export const FOOT_M = 0.3048;

// Units that are no length, each in the SI unit beside it. Exact: the US gallon is 231 cubic
// inches (NIST Handbook 44, Appendix C).
const SI = {
  "sq ft": times(METRES.ft, METRES.ft),
  "m²": rational(1),
  gpm: rational(231n * 254n ** 3n, 10n ** 12n * 60n),
  "L/s": rational(1, 1000),
  "in/h": METRES.in,
  "mm/h": METRES.mm,
  "per cu yd": over(rational(1), rational(27n * 3048n ** 3n, 10000n ** 3n)),
  "per m³": rational(1),
  "per sq ft": over(rational(1), times(METRES.ft, METRES.ft)),
  "per m²": rational(1),
};

// The system of the country that a browser names first ("en-US"): feet and inches in the United
// States, metres elsewhere.
export function unitsOfCountry([language] = []) {
  try {
    return new Intl.Locale(language).maximize().region === "US" ? "us" : "si";
  } catch {
    return "us";
  }
}

// One of a unit in SI, as a fraction; undefined for a bare number.
export const sizeOf = (unit) => METRES[unit] ?? SI[unit];

const SYSTEMS = {
  us: {
    distance: "ft",
    elevation: "ft",
    depth: "in",
    area: "sq ft",
    flow: "gpm",
    rain: "in/h",
    speed: "ft/s",
    volume: "cu yd",
    per_volume: "per cu yd",
    per_area: "per sq ft",
  },
  si: {
    distance: "m",
    elevation: "m",
    depth: "mm",
    area: "m²",
    flow: "L/s",
    rain: "mm/h",
    speed: "m/s",
    volume: "m³",
    per_volume: "per m³",
    per_area: "per m²",
  },
};
const SAME = { percent: "%", grade: "%", minutes: "min", hours: "h", years: "years" };

const ROD_COUNTERPART = { ft: "m", in: "mm", m: "ft", mm: "in" };

// The unit of a quantity in a system; "" for a bare number.
export function unitOf(quantity, units) {
  if (quantity === "distances") return SYSTEMS[units].distance;
  if (quantity === "depths") return SYSTEMS[units].depth;
  return SYSTEMS[units][quantity] ?? SAME[quantity] ?? "";
}

// The rod unit that a system's switch leads to: feet to metres, inches to millimetres.
export const rodCounterpart = (unit) => ROD_COUNTERPART[unit];

// Metres in the unit that a system measures distances in.
export const lengthUnitM = (units) => (units === "us" ? FOOT_M : 1);

// A distance in words, from metres.
export function distanceText(metres, units) {
  const value = metres / lengthUnitM(units);
  return `${value.toFixed(units === "us" ? 1 : 2)} ${unitOf("distance", units)}`;
}

// A number to at most `digits` decimals without trailing zeros.
export function plain(value, digits) {
  const text = (value + Math.sign(value) * 1e-9).toFixed(digits); // half away from zero, as the planner's
  const trimmed = text.includes(".") ? text.replace(/\.?0+$/, "") : text;
  return trimmed === "-0" ? "0" : trimmed;
}

// A station in plus notation from a distance in the system's own unit: 13 ft is "0+13".
export function stationLabel(at, units) {
  const size = units === "us" ? 100 : 1000;
  const hundredths = Math.round(at * 100);
  const whole = Math.floor(hundredths / (size * 100));
  const rest = hundredths - whole * size * 100;
  const part = rest % 100;
  const tail = part ? `.${String(part).padStart(2, "0")}`.replace(/0$/, "") : "";
  return `${whole}+${String(Math.floor(rest / 100)).padStart(size === 100 ? 2 : 3, "0")}${tail}`;
}

// A depth in words, as fine as a tape shows it: 0.1 in or 1 mm.
export function depthText(value, units) {
  return `${plain(value, units === "us" ? 1 : 0)} ${unitOf("depth", units)}`;
}

// What a grade means on a level: fall per foot or per metre.
export function fallPerUnit(percent, units) {
  return units === "us" ? `${plain(percent * 0.12, 3)} in per ft` : `${plain(percent * 10, 1)} mm per m`;
}
