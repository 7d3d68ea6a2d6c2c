// A question that must be answered before anything happens: a few choices, and always a way back.
import { h } from "../dom.js";

export class Question {
  #answer = null;

  constructor() {
    this.dialog = h("dialog", { class: "question", "aria-labelledby": "question-title" });
    this.dialog.addEventListener("close", () => this.#answer?.(this.dialog.returnValue || null));
    document.body.append(this.dialog);
  }

  // The value of the choice made, null for the way back. `choices`: [{text, value}], the first
  // stands out; `parts` are further elements between the words and the choices.
  ask({ title, words, parts = [], choices, back = "Leave all as it is" }) {
    const button = (text, value, kind) => h("button", { type: "button", class: kind, onclick: () => this.dialog.close(value) }, text);
    this.dialog.returnValue = "";
    this.dialog.replaceChildren(
      h("h2", { id: "question-title" }, title),
      h("p", null, words),
      ...parts,
      h(
        "div",
        { class: "question-choices" },
        choices.map(({ text, value }, i) => button(text, value, i ? null : "primary")),
        button(back, "", "quiet"),
      ),
    );
    this.dialog.showModal();
    return new Promise((resolve) => {
      this.#answer = resolve;
    });
  }

  // A key of the planner, as typed; null where none is given. `again`: the last one was refused.
  async askKey(again) {
    const input = h("input", {
      id: "planner-key",
      type: "password",
      autocomplete: "off",
      onkeydown: (event) => event.key === "Enter" && this.dialog.close("key"),
    });
    const typed = await this.ask({
      title: "A key is needed",
      words: again
        ? "That key opens nothing here: it may be mistyped, or revoked."
        : "This planner keeps each key's jobs to itself. Type yours; it is kept for this window only.",
      parts: [h("div", { class: "field" }, h("label", { for: input.id }, "Key"), input)],
      choices: [{ text: "Use this key", value: "key" }],
      back: "Not now",
    });
    return typed ? input.value.trim() || null : null;
  }
}
