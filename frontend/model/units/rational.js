// Exact fractions of whole numbers: what a person types is kept exactly, whatever unit it is
// shown in. A value is {n, d} with BigInt n and d, d > 0, in lowest terms.

const MOST_EXACT = BigInt(Number.MAX_SAFE_INTEGER);

export function rational(n, d = 1n) {
  let [top, bottom] = [BigInt(n), BigInt(d)];
  if (bottom === 0n) throw new RangeError("A fraction needs a bottom other than 0.");
  if (bottom < 0n) [top, bottom] = [-top, -bottom];
  const shared = commonDivisor(top < 0n ? -top : top, bottom);
  return { n: top / shared, d: bottom / shared };
}

function commonDivisor(a, b) {
  while (b) [a, b] = [b, a % b];
  return a || 1n;
}

// A plain decimal such as "17", "17.5" or ".5", without sign.
export function fromDecimal(text) {
  const [whole, part = ""] = text.split(".");
  return rational(BigInt(whole + part || "0"), 10n ** BigInt(part.length));
}

export const plus = (a, b) => rational(a.n * b.d + b.n * a.d, a.d * b.d);
export const times = (a, b) => rational(a.n * b.n, a.d * b.d);
export const over = (a, b) => rational(a.n * b.d, a.d * b.n);
export const negated = (a) => ({ n: -a.n, d: a.d });

// The nearest double: exact division where both parts fit a double, else by 20 decimals.
export function toNumber({ n, d }) {
  const size = n < 0n ? -n : n;
  if (size <= MOST_EXACT && d <= MOST_EXACT) return Number(n) / Number(d);
  return Number(n / d) + Number(((n % d) * 10n ** 20n) / d) / 1e20;
}

// Decimal text with at most `digits` decimals, rounded half away from zero, no trailing zeros.
export function toDecimal({ n, d }, digits) {
  const scale = 10n ** BigInt(digits);
  const size = n < 0n ? -n : n;
  const steps = (size * scale * 2n + d) / (d * 2n);
  const text = String(steps).padStart(digits + 1, "0");
  const whole = text.slice(0, text.length - digits) || "0";
  const part = digits ? text.slice(-digits).replace(/0+$/, "") : "";
  const sign = n < 0n && steps > 0n ? "-" : "";
  return sign + whole + (part && `.${part}`);
}
