// Two revisions of a job side by side: what was answered then and now, and what was changed.
import { answerRows, differences, momentText } from "../../model/wording/jobs.js";
import { h, say } from "../dom.js";
import { sideBySide } from "../widgets/side_by_side.js";
import { checkRows } from "./checks.js";

export class JobCompare {
  #job = null;

  // `open(id, number)` puts a revision on the page, `back()` returns to the list.
  constructor(calls, { open, back, onProblem }) {
    Object.assign(this, { calls, onProblem });
    const choice = (id) => h("select", { id, onchange: () => this.#fill() });
    [this.then, this.now] = ["revision-then", "revision-now"].map(choice);
    const field = (text, select) =>
      h(
        "div",
        { class: "field" },
        h("label", { for: select.id }, text),
        select,
        h("button", { type: "button", onclick: () => open(this.#job.id, Number(select.value)) }, "Open this one"),
      );
    this.title = h("h3", { tabindex: -1 });
    this.found = h("div", { class: "job-found" });
    this.record = h("div", { class: "job-record" });
    this.element = h(
      "section",
      { class: "job-compare", "aria-label": "Compare revisions", hidden: true },
      this.title,
      h("div", { class: "pair" }, field("Then", this.then), field("Now", this.now)),
      this.found,
      this.record,
      h("button", { type: "button", onclick: back }, "Back to the list"),
    );
  }

  // `number` is the revision to hold against the newest; null for the one before it.
  async show(job, number = null) {
    this.#job = job;
    this.element.hidden = false;
    say(this.title, `Revisions of “${job.name}”`);
    this.found.replaceChildren();
    const [{ revisions }, { grade_checks: checks }] = await Promise.all([this.calls.revisions(job.id), this.calls.checks(job.id)]);
    this.record.replaceChildren(
      ...(checks.length
        ? [h("h4", null, "The trench, as it was checked"), h("ul", { class: "job-rows" }, checkRows(this.calls, job.id, checks))]
        : []),
    );
    const options = () =>
      revisions.map(({ revision, saved_at: at, saved_by: by }) =>
        h("option", { value: revision }, `${revision}: ${momentText(at)}, ${by}`),
      );
    this.then.replaceChildren(...options());
    this.now.replaceChildren(...options());
    this.then.value = String(number ?? (revisions[1] ?? revisions[0]).revision);
    this.title.focus();
    await this.#fill();
  }

  async #fill() {
    const [then, now] = [this.then, this.now].map((select) => Number(select.value));
    const saves = await Promise.all([then, now].map((number) => this.calls.revision(this.#job.id, number))).catch((refused) => {
      this.onProblem(refused.message);
    });
    if (!saves || then !== Number(this.then.value) || now !== Number(this.now.value)) return;
    const heads = [`Revision ${then}`, `Revision ${now}`];
    const changes = differences(saves[0].request, saves[1].request);
    const sums =
      saves[0].sums === saves[1].sums
        ? []
        : [h("p", { class: "hint" }, `Worked out by different versions of the sums (${saves[0].sums}, ${saves[1].sums}).`)];
    this.found.replaceChildren(
      h("h4", null, "The answer"),
      sideBySide(answerRows(...saves), heads),
      ...sums,
      h("h4", null, "What was changed"),
      changes.length ? sideBySide(changes, heads) : h("p", null, "Nothing that bears on the plan."),
    );
  }
}
