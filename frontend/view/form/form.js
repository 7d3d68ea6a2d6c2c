// Binds every field of the page to its place in the plan: typing edits the plan, a changed plan
// (undo, units, an example) shows in the fields. Errors appear at the field they are about.

import { quantityAt, readAt, unitAt, valueAt, withChoice, withTyped } from "../../model/document/document.js";
import { textOf, typedAs } from "../../model/units/entry.js";
import { besideGrade } from "../../model/units/grade.js";
import { h, say } from "../dom.js";
import { reveal } from "../layout.js";

const REST_MS = 1500;
export const APART = "old_"; // paths of an old pipe
const TYPED = ["text", "choice", "distances", "depths", "grade"];

export class Form {
  #fields = new Map();
  #choices = new Map();
  #groups = new Map();
  #typing = null;
  #timer = null;
  #rests = [];

  constructor(store) {
    this.store = store;
    store.watch(() => this.show());
    document.addEventListener("focusout", ({ target: { dataset } }) => setTimeout(() => this.#left(dataset.path ?? dataset.yard)));
  }

  // The path of the field that is being typed in at this moment; null when the hand rests or
  // has left it. What stands in it may be half a number: no error is shown there yet.
  get typing() {
    return this.#typing;
  }

  // `rest()` is called when the hand rests after typing or leaves a field.
  whenRested(rest) {
    this.#rests.push(rest);
  }

  typed(path) {
    this.#typing = path;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#rested(), REST_MS);
  }

  // A field was left; by now the hand may be typing in the next one.
  #left(path) {
    if (this.#typing === null || this.#typing === path) this.#rested();
    else this.#rest();
  }

  #rest() {
    for (const rest of this.#rests) rest();
  }

  #rested() {
    clearTimeout(this.#timer);
    this.#typing = null;
    this.#rest();
  }

  // Take up every field that the page already holds.
  bindPage(root) {
    for (const input of root.querySelectorAll("input[data-path]")) this.bind(input);
    for (const choice of root.querySelectorAll("[data-choice]")) this.bindChoice(choice);
    for (const group of root.querySelectorAll("[data-error-for]")) this.bindGroup(group);
  }

  // A text field of one value. `describe` names further elements that describe it.
  bind(input) {
    const path = input.dataset.path;
    const quantity = quantityAt(this.store.plan, path);
    if (!input.id) throw new Error(`A field of ${path} needs an id.`);
    input.autocomplete = "off";
    input.spellcheck = false;
    if (!TYPED.includes(quantity)) input.inputMode = "decimal";
    const unit = h("span", { class: "unit", id: `${input.id}-unit` });
    const error = errorSlot(`${input.id}-error`);
    const hint = input.parentElement.querySelector(".hint");
    if (hint) hint.id ||= `${input.id}-hint`;
    const frame = h("span", { class: quantity === "grade" ? "measure grade" : "measure" });
    input.replaceWith(frame);
    frame.append(input, unit);
    frame.after(error);
    const described = [unit.id, hint?.id].filter(Boolean);
    this.#fields.set(path, { input, unit, error, described });
    this.#listen(input, path);
  }

  // A field made for a cell of a table: bound while it stands in the page. Answers the note that
  // belongs after a field for a grade, its percent; null for any other.
  bindCell(input, error) {
    const path = input.dataset.path;
    const unit = quantityAt(this.store.plan, path) === "grade" ? h("span", { class: "grade-is", id: `${input.id}-is` }) : null;
    this.#fields.set(path, { input, unit, error, described: unit ? [unit.id] : [] });
    this.#listen(input, path);
    return unit;
  }

  #listen(input, path) {
    input.addEventListener("input", () => {
      this.typed(path);
      this.store.edit((plan) => withTyped(plan, path, input.value), { key: path, origin: input });
    });
  }

  // Forget the fields of a table that is drawn anew.
  release(prefix) {
    for (const bound of [this.#fields, this.#choices, this.#groups]) {
      for (const path of bound.keys()) if (path.startsWith(prefix)) bound.delete(path);
    }
  }

  // A select, one radio of a choice, or a tick, which is "yes" or nothing.
  bindChoice(choice) {
    const path = choice.dataset.choice;
    const error = choice.type === "radio" ? null : errorSlot(`${choice.id}-error`);
    if (error) choice.after(error);
    this.#choices.set(path, [...(this.#choices.get(path) ?? []), { choice, error }]);
    choice.addEventListener("change", () => {
      const value = choice.type === "checkbox" ? (choice.checked ? "yes" : "") : choice.value;
      this.store.edit((plan) => withChoice(plan, path, value));
    });
  }

  // A part of the page where errors about it as a whole appear.
  bindGroup(group) {
    const error = errorSlot(`error-${group.dataset.errorFor}`);
    group.after(error);
    this.bindPart(group.dataset.errorFor, group, error);
  }

  // The same for a part that brings its own place for errors, such as a row.
  bindPart(path, group, error) {
    this.#groups.set(path, { group, error });
  }

  // Show the plan's values in every field but the one being typed in.
  show() {
    const plan = this.store.plan;
    for (const [path, { input, unit }] of this.#fields) {
      const text = textOf(valueAt(plan, path));
      if (input.value !== text) input.value = text;
      const typed = typedAs(valueAt(plan, path));
      if (input.title !== (typed && `Typed as ${typed}; reckoned with exactly that.`)) {
        input.title = typed && `Typed as ${typed}; reckoned with exactly that.`;
      }
      if (unit) say(unit, this.#besides(path, unit));
    }
    for (const [path, options] of this.#choices) {
      const value = valueAt(plan, path);
      for (const { choice } of options) {
        if (choice.type === "checkbox") choice.checked = value === "yes";
        else if (choice.type === "radio") choice.checked = choice.value === value;
        else if (choice.value !== value) choice.value = value;
      }
    }
  }

  // Grey text in an empty field: the value that holds while it is empty.
  suggest(path, text) {
    const field = this.#fields.get(path);
    if (field && field.input.placeholder !== text) field.input.placeholder = text;
  }

  // The pointers of values that hold while a field is empty, as [path, pointer].
  usualPlaces() {
    return [...this.#fields].filter(([, { input }]) => input.dataset.usual).map(([path, { input }]) => [path, input.dataset.usual]);
  }

  // Show `errors`, a Map from path to sentence, each at its field; answers those with no field of
  // their own as [path, sentence]. Parts that are asked about apart from the plan have errors of
  // their own: with `part`, only fields whose paths begin with it are marked; without, none of
  // theirs.
  tell(errors, part = null) {
    const told = (path) => (part === null ? !path.startsWith(APART) : path.startsWith(part));
    const rest = new Map(errors);
    const place = (path, { control, error, described = [] }) => {
      const text = rest.get(path) ?? "";
      rest.delete(path);
      if (error) {
        const { readings = [] } = text && this.#fields.has(path) ? readAt(this.store.plan, path) : {};
        showError(error, text, readings, (typed) => this.#mean(path, typed));
      }
      mark(control, text, error, described);
    };
    for (const [path, { input, error, described }] of this.#fields) {
      if (told(path)) place(path, { control: input, error, described });
    }
    for (const [path, options] of this.#choices) {
      const { choice, error } = options[0];
      if (error && told(path)) place(path, { control: choice, error });
    }
    for (const [path, { group, error }] of this.#groups) if (told(path)) place(path, { control: group, error });
    return [...rest];
  }

  // What was meant by a grade that could be several.
  #mean(path, typed) {
    this.store.edit((plan) => withTyped(plan, path, typed));
    this.focus(path);
  }

  // What stands beside a field: its unit, or the percent of a grade.
  #besides(path, beside) {
    const { plan } = this.store;
    if (quantityAt(plan, path) !== "grade") return unitAt(plan, path);
    const text = besideGrade(valueAt(plan, path), plan.grade.way);
    return beside.classList.contains("grade-is") && !text.startsWith("=") ? "" : text;
  }

  has(path) {
    return this.#fields.has(path) || this.#choices.has(path);
  }

  focus(path) {
    bringUp(this.#fields.get(path)?.input ?? this.#choices.get(path)?.[0].choice);
  }

  // Go to the first field, or else the first part, that shows an error.
  focusFirstError() {
    const part = document.querySelector("main .invalid");
    bringUp(document.querySelector("main [aria-invalid=true]") ?? part?.querySelector("input, select") ?? part);
  }
}

function bringUp(target) {
  reveal(target);
  target?.focus();
}

function errorSlot(id) {
  return h("p", { class: "error", id, hidden: true });
}

// An error at its place, with a button for each way that a grade could be meant.
export function showError(error, text, readings, onMean) {
  const key = `${text}|${readings.map((reading) => reading.text).join("|")}`;
  error.hidden = !text;
  if (error.dataset.key === key) return;
  error.dataset.key = key;
  error.replaceChildren(
    text,
    ...(readings.length
      ? [
          h(
            "span",
            { class: "readings" },
            readings.map(({ text: typed, words }) => h("button", { type: "button", onclick: () => onMean(typed) }, words)),
          ),
        ]
      : []),
  );
}

function mark(control, text, error, described) {
  const isField = control.matches("input, select");
  if (isField) {
    if (text) control.setAttribute("aria-invalid", "true");
    else control.removeAttribute("aria-invalid");
  } else control.classList.toggle("invalid", Boolean(text));
  const ids = [text && error ? error.id : null, ...described].filter(Boolean).join(" ");
  if (ids) control.setAttribute("aria-describedby", ids);
  else control.removeAttribute("aria-describedby");
}
