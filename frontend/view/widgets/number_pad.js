// A number pad under the thumb, with fractions of an inch: a phone's own has no slash.
import { FRACTIONS } from "../../model/units/fractions.js";
import { KEYS, pressed } from "../../model/units/pad_keys.js";
import { h } from "../dom.js";

const NAMES = { back: "Rub out", sign: "Minus", next: "Next", "′": "Feet", "″": "Inches" };
const TEXTS = { back: "⌫", sign: "−", next: "Next" };

export class NumberPad {
  // `inputOf()` is the field that is typed in, `next()` what its Next key does.
  constructor(place, { inputOf, next }) {
    Object.assign(this, { place, inputOf, next });
  }

  show(units, inches) {
    const key = `${units} ${inches}`;
    if (this.place.dataset.key === key) return;
    this.place.dataset.key = key;
    const button = (name) =>
      h(
        "button",
        {
          type: "button",
          class: name === "next" ? "primary" : null,
          "aria-label": NAMES[name],
          onpointerdown: (event) => event.preventDefault(),
          onclick: () => this.#press(name),
        },
        TEXTS[name] ?? name,
      );
    this.place.replaceChildren(
      ...(inches
        ? [h("div", { class: "pad-fractions", role: "group", "aria-label": "Add a fraction of an inch" }, FRACTIONS.map(button))]
        : []),
      h("div", { class: "pad-keys", role: "group", "aria-label": "Number pad" }, KEYS[units].map(button)),
    );
  }

  #press(name) {
    if (name === "next") {
      this.next();
      return;
    }
    const input = this.inputOf();
    if (!input) return;
    const { text, caret } = pressed(input.value, input.selectionStart, input.selectionEnd, name);
    input.value = text;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.setSelectionRange(caret, caret);
  }
}
