// The bar of the job: its name, how the plan stands to what is kept, save, and the way to all jobs.
import { JobCalls } from "../../api/jobs.js";
import { differences, momentText, refusalWords, standingWords } from "../../model/wording/jobs.js";
import { addressSays, keepAddress } from "../../state/address.js";
import { KeptJob } from "../../state/kept_job.js";
import { h, say } from "../dom.js";
import { sideBySide } from "../widgets/side_by_side.js";

const LOOK_AFTER_MS = 200;
const LONGEST_NAME = 200;
const TITLE = document.title;

// What is loaded once it is asked for: the list of jobs, and the sheet of the one on the page.
export const LATER = ["./list.js", "./compare.js", "./job_sheet.js", "./checks.js", "../widgets/copy_field.js"].map(
  (name) => new URL(name, import.meta.url).href,
);

export class Jobs {
  #timer = null;
  #shown = null;

  // `page` lends its store, bases, demo and question. The bar goes in after `top`.
  constructor({ store, bases, demo, question }, top) {
    this.store = store;
    this.question = question;
    this.calls = new JobCalls((again) => this.question.askKey(again));
    this.job = new KeptJob({ store, bases, demo, calls: this.calls, storage: localStorage });
    this.#build(top);
    store.watch(() => {
      this.said.hidden = true; // what was told is past with the next change
      this.#timer ??= setTimeout(() => this.show(), LOOK_AFTER_MS);
    });
    const opening = this.#follow();
    if (!opening) {
      this.show();
      this.job.look().then(() => this.show());
    }
    addEventListener("hashchange", () => this.#follow());
  }

  // Open the job that the address names, unless it is on the page already.
  #follow() {
    const [id, number] = [addressSays("job"), Number(addressSays("revision")) || null];
    const here = this.job.now?.id === id && (number === null || number === (this.job.older ?? this.job.now.revision));
    if (!id || here) return null;
    return this.open(id, number, { gone: NO_JOB_HERE, words: (name) => `“${name}” is open, from its address.` });
  }

  // The list and the sheet, loaded the first time that one is asked for.
  #loaded() {
    this.loading ??= Promise.all([import("./list.js"), import("./job_sheet.js")]).then(([{ JobList }, { JobSheet }]) => {
      this.list = new JobList(this.calls, this.job, {
        question: this.question,
        open: (id, number) => this.open(id, number),
        onChange: () => this.show(),
      });
      this.sheet = new JobSheet(this.calls, {
        open: (id, number) => this.open(id, number),
        compare: (job, number) => this.list.showRevisions(job, number),
        saveNew: () => this.#try(() => this.#saveNew({ asks: false })),
      });
    });
    this.loading.catch(() => {
      this.loading = null; // the planner is away: ask again at the next press
    });
    return this.loading;
  }

  #showList() {
    return this.#loaded().then(
      () => this.list.show(),
      () => this.#tell(refusalWords(0)),
    );
  }

  #build(top) {
    this.name = h("input", {
      id: "job-name",
      maxlength: LONGEST_NAME,
      autocomplete: "off",
      placeholder: "Name it to keep it",
      oninput: () => this.show(),
      onkeydown: (event) => event.key === "Enter" && this.save(),
    });
    this.standing = h("span", { id: "job-standing", role: "status" });
    this.about = h("button", { type: "button", id: "job-about", class: "quiet", onclick: () => this.#about() }, this.standing);
    this.said = h("p", { class: "job-said", id: "job-said", role: "status", hidden: true });
    const button = (id, text, act, kind) => h("button", { type: "button", id, class: kind, onclick: act }, text);
    this.bar = h(
      "section",
      { class: "job-bar", "aria-label": "Job" },
      h("label", { for: "job-name" }, "Job"),
      this.name,
      this.about,
      h(
        "div",
        { class: "job-tools" },
        button("job-save", "Save", () => this.save()),
        button("job-list", "All jobs…", () => this.#showList()),
      ),
      this.said,
    );
    top.after(this.bar);
  }

  show() {
    clearTimeout(this.#timer);
    this.#timer = null;
    const { now } = this.job;
    if (this.#shown !== (now?.id ?? "")) this.name.value = now?.name ?? "";
    if (this.#shown !== (now?.id ?? "")) this.#showChecks(now?.id ?? null);
    this.#shown = now?.id ?? "";
    const renamed = now && this.name.value.trim() !== now.name;
    this.bar.classList.toggle("kept", now !== null);
    const { older } = this.job;
    say(this.standing, standingWords(now, this.job.changed || renamed, renamed ? null : older));
    this.about.disabled = !now;
    this.about.title = now ? "The job's address, links for a crew, and its revisions" : "";
    document.title = now ? `${now.name} · Yardfall` : TITLE;
    if (!this.busy) keepAddress({ job: now?.id ?? null, revision: older }); // until then it may name what is to open
  }

  // The checks kept of the job on the page, in the sheet of the trench's check.
  async #showChecks(id) {
    if (!id && !this.record) return;
    this.record ??= import("./checks.js").then(({ TrenchRecord }) => new TrenchRecord(this.calls));
    await this.record.then(
      (record) => record.show(id),
      () => {
        this.record = null; // the planner is away: the next job asks again
      },
    );
  }

  #about() {
    const { now, older } = this.job;
    return this.#loaded().then(
      () => this.#try(() => this.sheet.show(now, older)),
      () => this.#tell(refusalWords(0)),
    );
  }

  save() {
    return this.#try(() => (this.job.now ? this.#saveAgain() : this.#saveNew()));
  }

  // Do something and say how it went; a refusal comes with its own sentence.
  async #try(act, tell = (text) => this.#tell(text)) {
    if (this.busy) return null;
    this.busy = true;
    this.#tell("");
    let told = null;
    try {
      told = await act();
    } catch (refused) {
      if (!("status" in refused)) throw refused;
      told = refused.message;
    } finally {
      this.busy = false;
      this.show();
    }
    tell(told);
    return told;
  }

  #tell(text) {
    say(this.said, text ?? "");
    this.said.hidden = !text;
  }

  // The name typed; null, and the field shown, while there is none.
  #named() {
    const name = this.name.value.trim();
    this.name.setAttribute("aria-invalid", String(!name));
    if (name) return name;
    this.name.focus();
    return null;
  }

  // Keep the plan as a job of its own; one of the same name may be meant, so that is asked.
  async #saveNew({ asks = true } = {}) {
    const name = this.#named();
    if (!name) return "Give the job a name first: the street and number, say.";
    const same = asks && (await this.calls.list(1, name, "open")).jobs.find((job) => job.name === name);
    if (!same) return keptWords(await this.job.saveNew(name));
    const choice = await this.question.ask({
      title: `A job is called “${name}” already`,
      words: `It is at revision ${same.revision}, saved ${momentText(same.saved_at)} by ${same.saved_by}. Is this plan the same job?`,
      choices: [
        { text: `Keep this as its revision ${same.revision + 1}`, value: "same" },
        { text: "Keep this as another job", value: "new" },
      ],
    });
    if (choice === "same") return keptWords(await this.job.saveOver(same, name));
    return choice === "new" ? keptWords(await this.job.saveNew(name)) : "Not saved. Your plan is as it was.";
  }

  async #saveAgain() {
    const name = this.#named();
    if (!name) return "A job needs a name.";
    const { now, changed } = this.job;
    if (!changed && name === now.name) {
      await this.job.look();
      return this.job.now.newer ? this.#meet(name) : `Nothing has changed since revision ${now.revision}, so nothing was saved.`;
    }
    try {
      return keptWords(await this.job.save(name));
    } catch (refused) {
      if (refused.status === 412) return this.#meet(name);
      if (refused.status === 404) return this.#gone(name);
      throw refused;
    }
  }

  // Someone else saved first: what differs, and what to do about it.
  async #meet(name) {
    const theirs = await this.calls.get(this.job.now.id);
    const mine = this.job.bodyOf(name);
    const rows = differences(theirs.request, mine.request);
    const saved = theirs.revision > this.job.now.revision;
    const choice = await this.question.ask({
      title: "Someone else saved first",
      words: saved
        ? `“${theirs.name}” is at revision ${theirs.revision} now, saved by ${theirs.saved_by}. You began from revision ${this.job.now.revision}.`
        : `“${theirs.name}” was put away or taken out by someone else meanwhile.`,
      parts: rows.length ? [sideBySide(rows, ["Theirs", "Yours"])] : [h("p", null, "What would be planned is the same in both.")],
      choices: [
        { text: "Keep mine as a copy", value: "copy" },
        { text: "Open theirs", value: "theirs" },
        { text: "Save mine over it", value: "over" },
      ],
    });
    if (choice === "copy") return keptWords(await this.job.saveNew(copyName(name)));
    if (choice === "over") return keptWords(await this.job.save(name, theirs.etag));
    if (choice === "theirs") return this.#opened(theirs);
    await this.job.look();
    return "Not saved. Your plan is as it was.";
  }

  async #gone(name) {
    const choice = await this.question.ask({
      title: "The job is gone",
      words: "It was deleted since, or it belongs to another key. Your plan is still on this page.",
      choices: [{ text: "Keep it as a new job", value: "new" }],
    });
    if (!choice) return "Not saved. Your plan is as it was.";
    return keptWords(await this.job.saveNew(name));
  }

  // The job's {id, revision} that keeps just the plan on the page, worked out as it is now; else null.
  async keptAs() {
    const { now, older, changed } = this.job;
    if (!now || (changed && older === null)) return null;
    const kept = await this.calls.revision(now.id, older ?? now.revision, { quiet: true }).catch(() => null);
    return kept?.answer && !kept.sums_changed ? { id: now.id, revision: kept.revision } : null;
  }

  // Keep a check of the trench (a body of POST /grade-check) with the job, as its as-built record;
  // answers how that went, in a sentence.
  keepCheck({ plan: _, ...readings }) {
    return this.#try(
      async () => {
        const { now } = this.job;
        if (!now) return "Save the plan as a job first: the check is kept with it.";
        if (this.job.changed)
          return `The plan has changed since revision ${now.revision}. Save it first, so that the check is kept with the plan it was held against.`;
        const { number, revision } = await this.calls.keepCheck(now.id, { ...readings, revision: now.revision });
        this.#showChecks(now.id);
        return `Kept as check ${number} of “${now.name}”, against revision ${revision}.`;
      },
      () => {},
    );
  }

  // Open a job, or one revision of it, once the user agrees to lose what is on the page.
  open(id, number = null, { words = openWords, gone = null } = {}) {
    return this.#try(async () => {
      const latest = await this.calls.get(id).catch((refused) => {
        if (refused.status === 404 && gone) return null;
        throw refused;
      });
      if (!latest) return gone;
      const revision = number === null || number === latest.revision ? latest : await this.calls.revision(id, number);
      if (!(await this.#mayGo(latest.name))) return null;
      this.list?.close();
      this.sheet?.close();
      await this.#lookFor(revision);
      return this.#opened(latest, revision, words);
    });
  }

  // A job may name a raster or site plan that came to the planner after this page did.
  async #lookFor({ form, request }) {
    const { bases } = this.job;
    const named = [form?.plan?.base, request?.ground?.raster].filter(Boolean);
    if (named.some((id) => !bases.has(id))) await bases.lookAgain().catch(() => {}); // then `open` says what is gone
  }

  async #mayGo(name) {
    if (!this.job.atRisk) return true;
    const choice = await this.question.ask({
      title: "Your plan has changes that no job keeps",
      words: `“${name}” would take its place. Undo brings it back, as long as this page keeps its history.`,
      choices: [{ text: "Open it all the same", value: "open" }],
      back: "Stay with my plan",
    });
    return choice === "open";
  }

  async #opened(latest, revision = latest, words = openWords) {
    const lack = await this.job.open(latest, revision);
    const earlier =
      revision.revision < latest.revision
        ? `This is revision ${revision.revision} of ${latest.revision}. Saved, it becomes revision ${latest.revision + 1}. `
        : "";
    return `${earlier}${lack ?? ""}` || words(latest.name);
  }
}

const NO_JOB_HERE = "No job is kept at this address any more, or it belongs to another key.";

const openWords = (name) => `“${name}” is open. Undo brings back what was here.`;

const copyName = (name) => `${name.slice(0, LONGEST_NAME - 7)} (mine)`;

// How it stands is told beside the name; only why there is no answer is left to say.
function keptWords({ answer, problems }) {
  return answer || !problems.length ? null : `It has no answer yet: ${problems[0].detail}`;
}
