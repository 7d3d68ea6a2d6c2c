// What can be taken hold of on the drawing: the pipe's start, its grade, its outlet. Each moves up
// and down by hand or by keys, and is the same as its field in the form.

import { takenValues } from "../../model/changes/conditions.js";
import { GRIPS, gripAt, withGrip } from "../../model/changes/grips.js";
import { gestureKey } from "../../model/changes/history.js";
import { gradeWords } from "../../model/units/grade.js";
import { plain } from "../../model/units/units.js";
import { byId, h, say } from "../dom.js";

const FAST = 10;
const KEYS = { ArrowUp: -1, ArrowDown: 1, PageUp: -FAST, PageDown: FAST };
const NAMES = {
  "start.value": (plan) => (plan.start.by === "depth" ? "Start depth" : "Start cover"),
  "grade.min_percent": () => "Minimum grade",
  "outlet.max": () => "Outlet depth",
};

export class Grips {
  #usual = new Map();
  #shown = null; // {answer, frame} of the drawing

  constructor(store) {
    this.store = store;
    this.grips = GRIPS.map((grip) => this.#grip(grip));
    byId("profile").append(...this.grips.map(({ element }) => element));
    store.watch((plan) => this.#show(plan));
  }

  #grip(grip) {
    const reading = h("span", { class: "grip-reading", "aria-hidden": "true" });
    const element = h(
      "div",
      {
        class: "grip",
        id: `grip-${grip.path.replace(".", "-")}`,
        role: "slider",
        tabindex: 0,
        "aria-orientation": "vertical",
        hidden: true,
      },
      reading,
    );
    element.addEventListener("pointerdown", (event) => this.#take(event, grip));
    element.addEventListener("keydown", (event) => this.#key(event, grip));
    return { grip, element, reading };
  }

  // The answer that is drawn, and where its levels lie.
  draw(answer, frame) {
    this.#shown = { answer, frame };
    this.#show(this.store.plan);
  }

  // What an answer took where a field was left empty.
  showUsual(answer) {
    const assumed = answer.assumptions.map(({ pointer, value }) => [pointer, value]);
    this.#usual = new Map([...assumed, ...takenValues(answer.answer)]);
    this.#show(this.store.plan);
  }

  // Where a grip stands; null too where the units were switched since the answer that is drawn.
  #standOf(grip) {
    const { plan } = this.store;
    if (this.#shown?.answer.units !== plan.units) return null;
    return gripAt(plan, grip, this.#usual, this.#shown.answer);
  }

  #show(plan) {
    for (const { grip, element, reading } of this.grips) {
      const stand = this.#standOf(grip);
      element.hidden = !stand;
      if (!stand) continue;
      const { frame } = this.#shown;
      element.style.transform = `translate(${frame.x(stand.at)}px, ${frame.y(stand.level)}px)`;
      const text = grip.path === "grade.min_percent" ? gradeWords(stand.value, plan.grade.way) : `${plain(stand.value, 2)} ${stand.unit}`;
      const name = NAMES[grip.path](plan);
      say(reading, `${name} ${text}`);
      for (const [key, value] of [
        ["label", name],
        ["valuemin", stand.least],
        ["valuemax", stand.most],
        ["valuenow", stand.value],
        ["valuetext", text],
      ]) {
        element.setAttribute(`aria-${key}`, value);
      }
      element.classList.toggle("at-end", stand.at > 0 && grip.path === "outlet.max");
    }
  }

  // Move with the hand until it lets go. Levels are reckoned in the drawing as it was taken up:
  // its scale may change under the hand.
  #take(event, grip) {
    const { frame } = this.#shown;
    const stand = this.#standOf(grip);
    if (!stand || event.button) return;
    event.preventDefault();
    const element = event.currentTarget;
    element.focus();
    element.setPointerCapture(event.pointerId);
    element.classList.add("held");
    const key = gestureKey();
    const perPixel = frame.level(1) - frame.level(0);
    const move = ({ clientY }) => {
      const level = stand.level + (clientY - event.clientY) * perPixel;
      this.#set(grip, stand.valueAt(level), key);
    };
    const end = () => {
      element.classList.remove("held");
      element.removeEventListener("pointermove", move);
    };
    element.addEventListener("pointermove", move);
    element.addEventListener("lostpointercapture", end, { once: true });
  }

  #key(event, grip) {
    const steps = KEYS[event.key];
    const stand = steps && this.#standOf(grip);
    if (!stand) return;
    event.preventDefault();
    this.#set(grip, stand.value + steps * stand.step, `grip ${grip.path}`);
  }

  #set(grip, value, key) {
    this.store.edit((plan) => withGrip(plan, grip, value), { key, origin: "drag" });
  }
}
