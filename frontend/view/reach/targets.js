// What a search found for each place to reach: by which route, or what is missing and what to
// loosen.
import { askReach } from "../../api/planner.js";
import { toTarget } from "../../model/request/reach.js";
import { h } from "../dom.js";

const MARKS = { yes: "Reached", conditional: "Reached, if", no: "Not reached" };
const REACHED = ["outlet", "conditional"];
const CHANGING = "any_changes";
const OUTSIDE = "outside";

export class ReachTargets {
  #alone = [];
  #flight = null;
  #drawn = null;

  // `steps`: {pick(i), loosen(change), leaveLot()} as for the routes.
  constructor(steps) {
    this.steps = steps;
    this.list = h("ul", { class: "reach-list", id: "reach-targets" });
    this.element = h("div", { hidden: true }, h("h3", null, "Places to reach"), this.list);
  }

  // The routes that were asked for one place alone.
  get routes() {
    return this.#alone.flatMap((answer) => answer?.routes ?? []);
  }

  // Forget what was found for one place alone.
  drop() {
    this.#flight?.abort();
    this.#flight = null;
    this.#alone = [];
  }

  // Ask about those places alone that the whole search leaves open: `routeOf(i)` answers the
  // number of a route to the place, or -1. `onFound` is called after each.
  async ask(body, answer, routeOf, onFound) {
    this.drop();
    const { targets } = answer;
    if (targets.length === 1) this.#alone = [{ ...answer, routes: [] }];
    const control = new AbortController();
    this.#flight = control;
    for (const [i, { kind }] of targets.entries()) {
      if (targets.length === 1 || (REACHED.includes(kind) && routeOf(i) >= 0)) continue;
      const result = await askReach(toTarget(body, i), control.signal, { brief: false }).catch(() => ({}));
      if (control.signal.aborted) return;
      this.#alone[i] = result.answer ?? { routes: [], loosen: [] };
      onFound();
    }
  }

  // `names` in the order of the answer's targets; `numbers` are those of their routes, -1 for none.
  show({ targets }, names, numbers, picked) {
    this.element.hidden = !targets.length;
    const rows = targets.map((target, i) => ({ ...target, name: names[i], number: numbers[i], loosen: this.#alone[i]?.loosen }));
    const drawn = JSON.stringify(rows);
    if (drawn !== this.#drawn) this.list.replaceChildren(...rows.map((row, i) => this.#row(row, i)));
    this.#drawn = drawn;
    numbers.forEach((number, i) => {
      const isPicked = number >= 0 && number === picked;
      const row = this.list.children[i];
      row.classList.toggle("picked", isPicked);
      row.querySelector(".reach-pick")?.setAttribute("aria-pressed", String(isPicked));
    });
  }

  // Bring the row of a place under the eye.
  bringUp(i) {
    this.list.children[i]?.scrollIntoView({ block: "nearest" });
  }

  #row({ name, kind, text, number, loosen }, i) {
    const reached = REACHED.includes(kind);
    const sign = { outlet: "yes", conditional: "conditional" }[kind] ?? "no";
    const words = [
      h("span", { class: `reach-sign ${sign}` }, kind === CHANGING ? "Only with more changes of grade" : MARKS[sign]),
      h("b", null, name),
    ];
    const by = reached ? "by route" : "comes nearest: route";
    const head =
      number < 0
        ? h("p", { class: "reach-head" }, words)
        : h(
            "button",
            {
              type: "button",
              class: "reach-pick",
              "aria-pressed": "false",
              onclick: () => this.steps.pick(number),
            },
            words,
            h("span", null, by),
            h("span", { class: "reach-badge" }, String(number + 1)),
          );
    return h(
      "li",
      { "data-target": i },
      head,
      h("p", null, text),
      kind === OUTSIDE ? this.#letOut() : !reached && kind !== CHANGING && this.#mend(name, loosen),
    );
  }

  // Beyond the lot line nothing is looked for unless someone says so.
  #letOut() {
    return h(
      "div",
      { class: "reach-mend" },
      h("p", null, "The search stays inside the lot. Whoever owns the ground beyond must allow the pipe and its water."),
      h("button", { type: "button", onclick: () => this.steps.leaveLot() }, "Let the pipe leave the lot"),
    );
  }

  #mend(name, loosen) {
    if (!loosen) return h("p", null, "Looking for what would bring it there…");
    if (!loosen.length) return h("p", null, "No single limit, loosened alone, would bring it there.");
    return h(
      "div",
      { class: "reach-mend" },
      h("p", null, `Any one of these would bring it to ${name}:`),
      h(
        "ul",
        { class: "fixes" },
        loosen.map((one) => {
          const act = this.steps.loosen(one);
          return h("li", null, h("span", null, one.text), act && h("button", { type: "button", onclick: act }, "Do this"));
        }),
      ),
    );
  }
}
