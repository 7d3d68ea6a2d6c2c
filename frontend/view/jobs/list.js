// All jobs: to find, open, copy, put away, delete and compare, and to take along or bring back.
import { momentText, VERDICT_WORDS } from "../../model/wording/jobs.js";
import { h, say } from "../dom.js";
import { JobCompare } from "./compare.js";

const SEARCH_AFTER_MS = 250;
const STATES = [
  ["open", "Open jobs"],
  ["archived", "Put away"],
  ["all", "All"],
];

export class JobList {
  #page = 1;
  #timer = null;
  #asked = 0;

  // `job` is the page's own; `open(id, number)` puts one on the page.
  constructor(calls, job, { question, open, onChange }) {
    Object.assign(this, { calls, job, question, open, onChange });
    this.#build();
  }

  #build() {
    this.search = h("input", { id: "job-search", type: "search", maxlength: 200, autocomplete: "off", oninput: () => this.#typed() });
    this.state = h(
      "select",
      { id: "job-state", onchange: () => this.#turn(1) },
      STATES.map(([value, text]) => h("option", { value }, text)),
    );
    this.said = h("p", { class: "job-said", role: "status", id: "job-list-said" });
    this.rows = h("ul", { class: "job-rows", "aria-label": "Jobs" });
    this.count = h("p", { class: "hint", id: "job-count" });
    this.before = h("button", { type: "button", onclick: () => this.#turn(this.#page - 1) }, "Earlier page");
    this.after = h("button", { type: "button", onclick: () => this.#turn(this.#page + 1) }, "Next page");
    this.listing = h(
      "div",
      { class: "job-listing" },
      h(
        "div",
        { class: "pair" },
        h("div", { class: "field" }, h("label", { for: "job-search" }, "Search"), this.search),
        h("div", { class: "field" }, h("label", { for: "job-state" }, "Show"), this.state),
      ),
      this.rows,
      h("div", { class: "job-pages" }, this.before, this.count, this.after),
      this.#moving(),
    );
    this.compare = new JobCompare(this.calls, {
      open: (id, number) => this.#open(id, number),
      back: () => this.#list(),
      onProblem: (reason) => say(this.said, reason),
    });
    this.dialog = h(
      "dialog",
      { class: "jobs-view", "aria-labelledby": "jobs-title" },
      h(
        "div",
        { class: "card-head" },
        h("h2", { id: "jobs-title" }, "Jobs kept"),
        h("button", { type: "button", id: "jobs-close", onclick: () => this.close() }, "Back to the plan"),
      ),
      this.said,
      this.listing,
      this.compare.element,
    );
    document.body.append(this.dialog);
  }

  #moving() {
    const file = h("input", { type: "file", id: "job-import", accept: ".zip,application/zip", onchange: () => this.#import(file) });
    return h(
      "details",
      { class: "more" },
      h("summary", null, "Take everything along, or bring it back"),
      h("p", { class: "hint" }, "One file with every job, its revisions, rasters and site plans: to keep safe, or for another planner."),
      h("button", { type: "button", id: "job-export", onclick: () => this.#export() }, "Download all"),
      h(
        "div",
        { class: "field" },
        h("label", { for: "job-import" }, "Bring back from such a file"),
        file,
        h("p", { class: "hint" }, "What is in it comes beside what is here. Nothing is replaced."),
      ),
    );
  }

  show() {
    if (!this.dialog.open) this.dialog.showModal();
    say(this.said, "");
    this.#list();
    this.search.focus();
  }

  // Two revisions of a job side by side, `number` and the newest.
  showRevisions(job, number) {
    if (!this.dialog.open) this.dialog.showModal();
    say(this.said, "");
    return this.#try(() => this.#compare(job, number));
  }

  close() {
    if (this.dialog.open) this.dialog.close();
  }

  #list() {
    this.compare.element.hidden = true;
    this.listing.hidden = false;
    return this.#turn(this.#page);
  }

  #typed() {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#turn(1), SEARCH_AFTER_MS);
  }

  // Show a page of the list; an answer that a later question has overtaken is dropped.
  #turn(page) {
    this.#asked += 1;
    const asked = this.#asked;
    return this.#try(async () => {
      const found = await this.calls.list(page, this.search.value.trim(), this.state.value);
      if (asked !== this.#asked) return;
      if (!found.jobs.length && page > 1) {
        await this.#turn(page - 1);
        return;
      }
      this.#page = page;
      this.#fill(found);
    });
  }

  #fill({ jobs, page: { number, size, total } }) {
    this.rows.replaceChildren(...jobs.map((job) => this.#row(job)));
    const first = (number - 1) * size + 1;
    say(this.count, total ? `${first} to ${first + jobs.length - 1} of ${total}` : this.#none());
    this.before.hidden = this.after.hidden = total <= size;
    this.before.disabled = number === 1;
    this.after.disabled = number * size >= total;
  }

  #none() {
    if (this.search.value.trim()) return "No job has that in its name.";
    return this.state.value === "archived" ? "Nothing is put away." : "No job is kept yet. Name your plan above the verdict and save it.";
  }

  #row(job) {
    const verdict = job.overall ? VERDICT_WORDS[job.overall] : "Draft, no answer";
    const here = this.job.now?.id === job.id ? " · on the page now" : "";
    const act = (text, what) =>
      h(
        "button",
        {
          type: "button",
          "aria-label": `${text} ${job.name}`,
          onclick: () => this.#try(what),
        },
        text,
      );
    return h(
      "li",
      { "data-job": job.id },
      h(
        "p",
        { class: "job-facts" },
        h("b", null, job.name),
        h(
          "small",
          null,
          `${verdict} · revision ${job.revision}, ${momentText(job.saved_at)}, by ${job.saved_by}` +
            `${job.archived ? " · put away" : ""}${here}`,
        ),
      ),
      h(
        "div",
        { class: "job-acts" },
        act("Open", () => this.#open(job.id)),
        act("Compare", () => this.#compare(job)),
        act("Copy", () => this.#copy(job)),
        act(job.archived ? "Take out" : "Put away", () => this.#archive(job)),
        act("Delete", () => this.#delete(job)),
      ),
    );
  }

  async #open(id, number) {
    say(this.said, (await this.open(id, number)) ?? "");
  }

  #compare(job, number = null) {
    this.listing.hidden = true;
    return this.compare.show(job, number);
  }

  async #copy(job) {
    const copy = await this.calls.copy(job.id, `${job.name.slice(0, 193)} (copy)`);
    await this.#list();
    say(this.said, `“${copy.name}” is kept beside it.`);
  }

  async #archive(job) {
    this.job.heed(await this.calls.archive(job.id, !job.archived));
    await this.#list();
    say(
      this.said,
      job.archived ? `“${job.name}” is among the open jobs again.` : `“${job.name}” is put away, not deleted. “Show” finds it.`,
    );
  }

  async #delete(job) {
    const sure = await this.question.ask({
      title: `Delete “${job.name}”?`,
      words:
        `All ${job.revision === 1 ? "of it" : `${job.revision} revisions`}, the checks of its trench and the links to it are gone for good. ` +
        "Its rasters and site plans stay, and so does the plan on this page.",
      choices: [{ text: "Delete it for good", value: "delete" }],
      back: "Keep it",
    });
    if (!sure) return;
    await this.calls.remove(job.id, job.etag);
    this.job.forget(job.id);
    this.onChange();
    await this.#list();
    say(this.said, `“${job.name}” is deleted.`);
    this.search.focus();
  }

  #export() {
    return this.#try(async () => {
      say(this.said, "Writing…");
      const url = URL.createObjectURL(await this.calls.exportAll());
      h("a", { href: url, download: "yardfall-export.zip" }).click();
      setTimeout(() => URL.revokeObjectURL(url), 60_000);
      say(this.said, "yardfall-export.zip is in your downloads.");
    });
  }

  #import(input) {
    const [file] = input.files;
    if (!file) return null;
    return this.#try(async () => {
      say(this.said, "Reading…");
      const { jobs, revisions, rasters, site_plans: plans } = await this.calls.importAll(file);
      input.value = "";
      await Promise.all([this.#list(), this.job.bases.lookAgain().catch(() => {})]);
      say(this.said, `Brought back: jobs ${jobs}, revisions ${revisions}, rasters ${rasters}, site plans ${plans}.`);
    });
  }

  async #try(act) {
    try {
      await act();
    } catch (refused) {
      if (!("status" in refused)) throw refused;
      const stale = refused.status === 412 || refused.status === 404;
      say(this.said, stale ? "Someone else changed it meanwhile; nothing was done. The list is fresh now." : refused.message);
      if (stale) this.#list();
    }
  }
}
