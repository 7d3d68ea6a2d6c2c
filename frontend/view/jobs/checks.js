// The checks kept of a job's trench: when, by whom, what was found, and each station that was read.
import { offWords, outcome, SURFACES, unitBy } from "../../model/request/trench.js";
import { checkWords, dayText, momentText } from "../../model/wording/jobs.js";
import { byId, h } from "../dom.js";

const NONE = "None yet. A check is kept from the Trench check, here or by the crew's link.";

// Each check with its stations in a fold, which `calls` are asked for once it is opened.
export function checkRows(calls, job, checks) {
  if (!checks.length) return [h("li", null, h("p", { class: "hint" }, NONE))];
  return checks.map(({ number, revision, checked_at: at, checked_by: by, verdict, sentence }) => {
    const stations = h("div", { class: "check-stations" });
    const load = async () => {
      if (stations.childElementCount) return;
      const found = await calls.check(job, number).then(stationTable, (refused) => h("p", { class: "hint" }, refused.message));
      stations.replaceChildren(found);
    };
    return h(
      "li",
      { "data-check": number },
      h(
        "div",
        { class: "job-facts" },
        h("b", null, `Check ${number}: ${checkWords(verdict)}`),
        h("small", null, `${momentText(at)}, by ${by} · against revision ${revision}`),
        h("p", null, sentence),
        h("details", { class: "more", ontoggle: load }, h("summary", null, "Its stations"), stations),
      ),
    );
  });
}

function stationTable({ answer, request }) {
  const { stations, units, branch } = answer;
  const plan = { ...request.plan, units };
  const row = (station) => {
    const unit = unitBy(station.by, { branch: branch ?? null }, plan);
    return h(
      "tr",
      null,
      h("th", { scope: "row" }, station.label),
      h("td", null, `${station.reads} ${unit}`),
      h("td", null, offWords(station, units)),
      h("td", null, outcome(station).words),
    );
  };
  const on = [...new Set(stations.map((station) => SURFACES[station.on]))].join(", ");
  const heads = ["Station", "Reads", "Off the plan", "Found"];
  return h(
    "div",
    { class: "table-frame", tabindex: "0", role: "group", "aria-label": "Stations of this check" },
    h(
      "table",
      { class: "check-table" },
      h("caption", null, `Read to ${on}`),
      h(
        "thead",
        null,
        h(
          "tr",
          null,
          heads.map((head) => h("th", { scope: "col" }, head)),
        ),
      ),
      h("tbody", null, stations.map(row)),
    ),
  );
}

// What is kept of the trench, on the card of its check: a line that unfolds.
export class TrenchRecord {
  #shown = "";

  constructor(calls) {
    this.calls = calls;
    this.summary = h("summary");
    this.rows = h("ul", { class: "job-rows", "aria-label": "Checks kept" });
    this.element = h("details", { class: "more", id: "trench-record", hidden: true }, this.summary, this.rows);
    byId("trench").append(this.element);
  }

  // Ask for the checks of a job, or put them away with null. A planner that is away says nothing here.
  async show(job) {
    this.#shown = job;
    const found = job && (await this.calls.checks(job, { quiet: true }).catch(() => null));
    if (this.#shown !== job) return;
    const checks = found?.grade_checks ?? [];
    this.element.hidden = !checks.length;
    if (!checks.length) return;
    const [{ checked_at: at, verdict }] = checks;
    const count = checks.length === 1 ? "1 check kept" : `${checks.length} checks kept, the last`;
    this.summary.textContent = `${count}, ${dayText(at)}: ${checkWords(verdict)}`;
    this.rows.replaceChildren(...checkRows(this.calls, job, checks));
  }
}
