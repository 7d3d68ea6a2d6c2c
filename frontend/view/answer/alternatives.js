// Plans side by side: another pipe, another outlet, another route, kept in the browser.
import { askComparison } from "../../api/planner.js";
import { comparisonOf, freeName, MOST_KEPT, nameFault, rowsOf, takenUp } from "../../model/request/alternatives.js";
import { h, say } from "../dom.js";
import { dataTable } from "../widgets/data_table.js";

const KEY = "yardfall.kept.1";
const REST_MS = 150;
const AWAY = "The planner cannot be reached, so nothing was compared.";

export class Alternatives {
  #asked = "";
  #compared = false;
  #flight = null;
  #timer = null;

  // Its card goes `before` a part of the page; `bases` lends what lies under each plan.
  constructor(store, bases, before) {
    Object.assign(this, { store, bases });
    this.kept = read();
    this.name = h("input", {
      id: "keep-name",
      maxlength: 60,
      autocomplete: "off",
      onkeydown: (event) => event.key === "Enter" && this.#keep(),
    });
    this.error = h("p", { class: "error", id: "keep-error", hidden: true });
    this.keep = h("button", { type: "button", id: "keep-plan", onclick: () => this.#keep() }, "Keep this plan to compare");
    this.list = h("ul", { class: "kept-plans", "aria-label": "Plans kept" });
    this.again = h("button", { type: "button", id: "compare-again", hidden: true, onclick: () => this.#compare() }, "Compare again");
    this.said = h("p", { id: "compared", role: "status" });
    this.table = h("div", { class: "table-frame", tabindex: "0", role: "group", "aria-label": "Plans side by side", hidden: true });
    this.section = h(
      "section",
      { class: "card", id: "alternatives", "aria-labelledby": "alternatives-title", hidden: true },
      h("h2", { id: "alternatives-title" }, "Another pipe, outlet or route?"),
      h("p", { class: "hint" }, `Keep this plan, then change it: both stand side by side. Up to ${MOST_KEPT} are kept in this browser.`),
      h(
        "div",
        { class: "keep-plan" },
        h("div", { class: "field" }, h("label", { for: "keep-name" }, "Its name"), this.name, this.error),
        this.keep,
      ),
      this.list,
      this.said,
      this.again,
      this.table,
    );
    before.before(this.section);
  }

  // Called when the plan has changed and come to rest.
  show(plan) {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#show(plan), REST_MS);
  }

  #show(plan) {
    const { plans } = this.#plans(plan);
    this.section.hidden = !plans.length && !this.kept.length;
    this.name.placeholder = freeName(this.kept) ?? "";
    const full = this.kept.length >= MOST_KEPT;
    this.keep.disabled = full;
    if (!this.list.childElementCount && this.kept.length) this.#drawList();
    const stale = this.kept.length > 0 && JSON.stringify(plans) !== this.#asked;
    this.again.hidden = !stale || plans.length < 2;
    say(this.again, this.#compared ? "Compare again" : "Compare");
    this.table.classList.toggle("waiting", stale);
  }

  #plans(plan) {
    return comparisonOf(this.kept, plan, (base) => this.bases.get(base));
  }

  #keep() {
    const name = this.name.value.trim() || this.name.placeholder;
    const fault = nameFault(this.kept, name);
    say(this.error, fault ?? "");
    this.error.hidden = !fault;
    if (fault || this.keep.disabled) return;
    this.name.value = "";
    this.#change([...this.kept, { name, plan: this.store.plan }]);
  }

  #change(kept) {
    this.kept = kept;
    if (!write(kept)) say(this.said, "This browser does not keep plans: they last as long as this page.");
    this.#drawList();
    this.#show(this.store.plan);
    this.#compare();
  }

  #drawList() {
    this.list.replaceChildren(
      ...this.kept.map((one) =>
        h(
          "li",
          null,
          h("b", null, one.name),
          h(
            "button",
            {
              type: "button",
              "aria-label": `Use this plan: ${one.name}`,
              onclick: () => this.store.edit(({ units }) => this.bases.onKnown(takenUp(one, units))),
            },
            "Use this plan",
          ),
          h("button", { type: "button", class: "quiet", "aria-label": `Remove ${one.name}`, onclick: () => this.#drop(one) }, "Remove"),
        ),
      ),
    );
  }

  #drop(one) {
    this.#change(this.kept.filter((other) => other !== one));
    this.name.focus();
  }

  async #compare() {
    const { plans, missing } = this.#plans(this.store.plan);
    this.#flight?.abort();
    this.table.hidden = plans.length < 2;
    if (plans.length < 2) {
      say(this.said, this.kept.length ? "Kept. Now change the pipe, the outlet or the route, and compare." : "");
      return;
    }
    const flight = new AbortController();
    this.#flight = flight;
    const result = await askComparison({ plans }, flight.signal).catch(() => ({}));
    if (flight.signal.aborted) return;
    const left = missing.length ? ` Left out, for what lies under it is gone: ${missing.join(", ")}.` : "";
    if (!result.answer) {
      say(this.said, result.problem ? `These cannot be compared: ${reason(result.problem, plans)}` : AWAY);
      this.table.hidden = true;
      return;
    }
    this.#asked = JSON.stringify(plans);
    this.#compared = true;
    say(this.said, result.answer.sentence + left);
    this.#draw(result.answer);
    this.#show(this.store.plan);
  }

  #draw(answer) {
    const names = answer.alternatives.map(({ name }) => name);
    this.table.replaceChildren(
      dataTable(
        ["", ...names],
        rowsOf(answer, this.store.plan.grade.way).map(({ head, cells, best }) => [
          head,
          ...cells.map((text, i) => (names[i] === best ? [h("b", null, text), h("small", null, "best")] : text)),
        ]),
        { look: "side-by-side", caption: "Plans side by side" },
      ),
    );
  }
}

// The planner's reason, with the name of the plan that it is about.
function reason({ errors, detail, title }, plans) {
  const [first] = errors ?? [];
  const about = plans[/^\/plans\/(\d+)/.exec(first?.pointer ?? "")?.[1]]?.name;
  return `${about ? `${about}: ` : ""}${first?.detail ?? detail ?? title}`;
}

function read() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY));
    return Array.isArray(kept) ? kept.filter((one) => one?.plan?.version === 1).slice(0, MOST_KEPT) : [];
  } catch {
    return [];
  }
}

function write(kept) {
  try {
    localStorage.setItem(KEY, JSON.stringify(kept));
    return true;
  } catch {
    return false;
  }
}
