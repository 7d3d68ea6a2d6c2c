// A text to take along: shown whole where it can be marked, and copied by one press.
import { h, say } from "../dom.js";

export class CopyField {
  constructor(id, text) {
    this.input = h("input", { id, readonly: true, onfocus: () => this.input.select() });
    this.button = h("button", { type: "button", id: `${id}-copy`, onclick: () => this.#copy() }, "Copy link");
    this.said = h("span", { class: "hint", role: "status" });
    this.element = h(
      "div",
      { class: "field" },
      h("label", { for: id }, text),
      h("div", { class: "copy-field" }, this.input, this.button),
      this.said,
    );
  }

  show(text) {
    this.input.value = text;
    say(this.said, "");
    this.element.hidden = false;
  }

  hide() {
    this.input.value = "";
    this.element.hidden = true;
  }

  // A page that came over plain http has no clipboard of its own.
  async #copy() {
    this.input.focus();
    this.input.select();
    const done = await navigator.clipboard?.writeText(this.input.value).then(
      () => true,
      () => false,
    );
    say(this.said, done || document.execCommand("copy") ? "Copied." : "It is marked: copy it by the keys.");
  }
}
