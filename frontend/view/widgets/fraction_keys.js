// On a touch screen: fractions of an inch to tap, under the field that takes inches.
import { unitAt } from "../../model/document/document.js";
import { FRACTIONS, withFraction } from "../../model/units/fractions.js";
import { h } from "../dom.js";

const PRESS_MS = 300;

export class FractionKeys {
  #input = null;

  constructor(store) {
    this.bar = h(
      "div",
      { class: "fractions", role: "group", "aria-label": "Add a fraction of an inch", hidden: true },
      FRACTIONS.map((fraction) =>
        h(
          "button",
          {
            type: "button",
            onpointerdown: (event) => event.preventDefault(),
            onclick: () => this.#add(fraction),
          },
          fraction,
        ),
      ),
    );
    if (!matchMedia("(pointer: coarse)").matches) return;
    document.addEventListener("focusin", ({ target }) => {
      if (this.bar.contains(target)) return;
      const path = target.dataset?.path;
      const takesInches = path !== undefined && unitAt(store.plan, path) === "in";
      this.#input = takesInches ? target : null;
      // A press elsewhere must not move away under the finger: its keys go once it is over.
      if (!takesInches) setTimeout(() => (this.bar.hidden = this.#input === null), PRESS_MS);
      else this.bar.hidden = false;
      if (takesInches) (target.closest(".table-frame, .measure") ?? target).after(this.bar);
    });
  }

  #add(fraction) {
    const input = this.#input;
    if (!input) return;
    input.value = withFraction(input.value, fraction);
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.focus();
    input.setSelectionRange(input.value.length, input.value.length);
  }
}
