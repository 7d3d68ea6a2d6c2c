// Adding a fraction to a measure that is typed on a number pad, which has no slash.
export const FRACTIONS = ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"];

// `text` with this fraction at its end in place of the one it has: "17", "17 1/4" and "17." all
// become "17 1/2". Text that already holds decimals is left as it is.
export function withFraction(text, fraction) {
  const whole = text
    .trim()
    .replace(/(?:^|[ -]+)\d+\/\d+$/, "")
    .replace(/\.$/, "");
  if (whole.includes(".")) return text;
  return whole ? `${whole} ${fraction}` : fraction;
}
