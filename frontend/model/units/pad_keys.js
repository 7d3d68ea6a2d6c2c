// What a key of the number pad does to the text of a field: pure; the caret goes in and comes
// out.
import { withFraction } from "./fractions.js";

export const KEYS = {
  us: ["7", "8", "9", "back", "4", "5", "6", "′", "1", "2", "3", "″", "sign", "0", ".", "next"],
  si: ["7", "8", "9", "back", "4", "5", "6", "cm", "1", "2", "3", "m", "sign", "0", ".", "next"],
};

// {text, caret} after a key, with what was selected from `start` to `end` replaced.
export function pressed(text, start, end, key) {
  const [before, after] = [text.slice(0, start), text.slice(end)];
  if (key === "back") {
    const kept = start === end ? before.slice(0, -1) : before;
    return { text: kept + after, caret: kept.length };
  }
  if (key === "sign") {
    const turned = text.startsWith("-") ? text.slice(1) : `-${text}`;
    return { text: turned, caret: turned.length };
  }
  if (key.includes("/")) {
    const whole = start === 0 && end === text.length && start !== end ? "" : text;
    const filled = withFraction(whole, key);
    return { text: filled, caret: filled.length };
  }
  const gap = ["cm", "m"].includes(key) ? " " : spaceAfterFeet(before, key);
  return { text: before + gap + key + after, caret: (before + gap + key).length };
}

// Inches typed after feet stand apart from them: 1′ 5.
const spaceAfterFeet = (before, key) => (before.endsWith("′") && /\d/.test(key) ? " " : "");
