// Each change that is offered, drawn small: the ground, the pipe now and after it. What comes of a
// change is asked of the planner once its place is seen, one after another.
import { profileChange } from "../../model/geometry/profile_change.js";
import { h, svg } from "../dom.js";

const [WIDE, TALL, EDGE] = [132, 54, 5];
const KEPT = 24;
const STAYS = "The pipe stays where it is drawn.";

export class FixPictures {
  #before = null;
  #line = [];
  #flight = null;
  #wanted = new WeakMap();
  #answers = new Map(); // by what was asked: a change that was seen is not asked about again

  // `ask(plan, signal)` answers {key, answer} as soon as the planner is free.
  constructor(ask) {
    this.ask = ask;
    this.seen = new IntersectionObserver((entries) => {
      for (const { isIntersecting, target } of entries) if (isIntersecting) this.#want(target);
    });
  }

  // Nothing that was wanted is wanted any more: the plan has changed.
  stop() {
    this.#flight?.abort();
    this.#flight = null;
    this.#line = [];
    this.seen.disconnect();
  }

  // From now on changes are drawn against this answer.
  against(answer) {
    this.stop();
    this.#before = answer.ground_known ? answer : null;
  }

  // The place of a picture of what comes of `plan` in the line that `pick` takes from an answer; null
  // where there is no ground to draw.
  place(plan, pick = (answer) => answer) {
    if (!this.#before) return null;
    const element = h("div", { class: "fix-picture" });
    this.#wanted.set(element, { plan, pick });
    this.seen.observe(element);
    return element;
  }

  #want(element) {
    this.seen.unobserve(element);
    this.#line.push(element);
    if (!this.#flight) this.#next();
  }

  async #next() {
    const element = this.#line.shift();
    if (!element) {
      this.#flight = null;
      return;
    }
    const { plan, pick } = this.#wanted.get(element);
    const flight = new AbortController();
    this.#flight = flight;
    const answer = await this.ask(plan, flight.signal, this.#answers).catch(() => null);
    if (flight.signal.aborted) return;
    const [before, after] = [this.#before, answer].map((one) => one && pick(one));
    if (before?.ground_known && after?.ground_known) draw(element, profileChange(before, after));
    while (this.#answers.size > KEPT) this.#answers.delete(this.#answers.keys().next().value);
    this.#next();
  }
}

function draw(element, change) {
  const d = (points) =>
    `M${points.map(([x, y]) => `${(EDGE + x * (WIDE - 2 * EDGE)).toFixed(1)} ${(EDGE + y * (TALL - 2 * EDGE)).toFixed(1)}`).join("L")}`;
  const words = change.moved ? change.words : STAYS;
  element.replaceChildren(
    svg(
      "svg",
      { viewBox: `0 0 ${WIDE} ${TALL}`, width: WIDE, height: TALL, role: "img", "aria-label": `The profile before and after. ${words}` },
      svg("path", { class: "soil", d: `${d(change.groundAfter ?? change.ground)}L${WIDE - EDGE} ${TALL}L${EDGE} ${TALL}Z` }),
      change.groundAfter && svg("path", { class: "was-ground", d: d(change.ground) }),
      svg("path", { class: "ground", d: d(change.groundAfter ?? change.ground) }),
      svg("path", { class: "was", d: d(change.before) }),
      svg("path", { class: "then", d: d(change.after) }),
    ),
    h("small", null, words),
  );
}
