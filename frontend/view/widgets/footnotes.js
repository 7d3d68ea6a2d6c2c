// Sources told once, as numbered notes at the end of a list.
import { h } from "../dom.js";

// Sources that stand in brackets within a sentence of the planner, each the same in many of them.
const WITHIN = /\s*\((common practice, no source[^()]*)\)/g;

export class Footnotes {
  #sources = [];

  // The number of a source, raised.
  mark(source) {
    const told = source[0].toUpperCase() + source.slice(1);
    if (!this.#sources.includes(told)) this.#sources.push(told);
    return h("sup", { class: "footnote" }, h("span", { class: "unseen" }, " source "), String(this.#sources.indexOf(told) + 1));
  }

  // A sentence as nodes, the sources within it as numbers.
  within(sentence) {
    return sentence.split(WITHIN).map((part, i) => (i % 2 ? this.mark(part) : part));
  }

  // The notes themselves; nothing where there are none.
  get list() {
    return this.#sources.length
      ? [
          h(
            "ol",
            { class: "footnotes", "aria-label": "Sources" },
            this.#sources.map((source) => h("li", null, source)),
          ),
        ]
      : [];
  }
}

// The cautions of an answer as items, and the notes to set after their list.
export function cautionParts(cautions) {
  const notes = new Footnotes();
  const items = cautions.map(({ text, source }) => h("li", null, text, notes.mark(source)));
  return { items, notes: notes.list };
}

// The same as a list with its notes.
export function cautionList(cautions) {
  const { items, notes } = cautionParts(cautions);
  return [h("ul", { class: "cautions" }, items), ...notes];
}
