// Which job the plan on the page is kept as, and its saving and opening. The plan itself carries
// the job's id, so that undo and redo bring the right one back.

import { BLANK, blankDocument, completed, isLocal } from "../model/document/document.js";
import { onBase } from "../model/document/shapes.js";
import { withPaper } from "../model/request/paper.js";
import { buildRequest } from "../model/request/request.js";
import { fingerprint } from "../model/wording/jobs.js";
import { examplePlans } from "./examples.js";

const KEPT = "yardfall.jobs.1";
const MOST_KEPT = 50;

export class KeptJob {
  #kept;

  // `calls` are the planner's calls of jobs, `storage` the browser's.
  constructor({ store, bases, demo, calls, storage }) {
    Object.assign(this, { store, bases, demo, calls, storage });
    this.#kept = read(storage);
  }

  // What is known here of the job that the plan is kept as: {id, name, revision, etag, saved_at,
  // draft, mark, newer, older}; null for a plan that belongs to none.
  get now() {
    return this.#kept[this.store.plan.job] ?? null;
  }

  // Whether the plan differs from what its job keeps.
  get changed() {
    const { now } = this;
    return now !== null && now.mark !== fingerprint(this.store.plan);
  }

  // The number of the earlier revision that the plan is, just as it was kept; else null.
  get older() {
    const { older } = this.now ?? {};
    return older && older.mark === fingerprint(this.store.plan) ? older.revision : null;
  }

  // Whether something would be lost from sight if another plan took its place.
  get atRisk() {
    const { plan } = this.store;
    if (this.now) return this.changed && this.older === null;
    const mark = fingerprint(plan);
    const given = examplePlans(this.demo, plan.units).map((example) => example.plan());
    return ![blankDocument(plan.units), ...given].some((example) => fingerprint(example) === mark);
  }

  // What a save sends. A request that lacks something still, or cannot be worked out, is kept as
  // a draft; the page's own form comes back as it was typed.
  bodyOf(name) {
    const { plan } = this.store;
    const base = this.bases.get(plan.base);
    const { body } = buildRequest(plan, base);
    const request = body && withPaper(body, plan, base, this.bases.featuresOf(plan, this.demo));
    return { name, request: request ?? { units: plan.units }, draft: true, form: { plan: { ...plan, job: "" } } };
  }

  // Keep the plan as a new job. Throws Refused, as `save` does.
  async saveNew(name) {
    return this.#saved(await this.calls.create(this.bodyOf(name)));
  }

  // Keep the plan as the next revision of a job that was found in a list.
  async saveOver({ id, etag }, name) {
    return this.#saved(await this.calls.save(id, etag, this.bodyOf(name)));
  }

  // Keep the plan as its job's next revision, on top of the one known here or of `etag`.
  async save(name, etag = this.now.etag) {
    return this.#saved(await this.calls.save(this.now.id, etag, this.bodyOf(name)));
  }

  // While a save was under way the plan may have changed: what was sent counts as kept.
  #saved(job) {
    const before = this.store.plan.job;
    this.#keep(job, fingerprint(job.form.plan));
    this.store.rewrite((plan) => (plan.job === before ? { ...plan, job: job.id } : plan));
    return job;
  }

  // Put a kept revision in the plan's place; undo brings back what was there. Answers what of it
  // is gone, in a sentence, or null. `latest` is its job's newest revision.
  async open(latest, revision = latest) {
    const { plan, lack } = await this.#planOf(revision);
    const [mark, isLatest] = [fingerprint(plan), revision.revision === latest.revision];
    this.#keep(latest, isLatest && !lack ? mark : "", isLatest ? null : { revision: revision.revision, mark });
    this.store.edit(() => ({ ...plan, job: latest.id }));
    return lack;
  }

  async #planOf({ form, request }) {
    if (!form?.plan) {
      const { opened } = await import("../model/load/load.js"); // needed for other software's jobs alone
      const { plan, left } = opened(request, (id) => this.bases.get(id));
      const lack = left.length ? `Other software kept this job, and this form has no place for: ${left.join("; ")}.` : null;
      return { plan, lack };
    }
    const plan = completed(form.plan);
    if (this.bases.has(plan.base)) return { plan, lack: null };
    if (isLocal(plan)) {
      return {
        plan: onBase(plan, BLANK, (point) => point),
        lack:
          "The site plan that this job was drawn on is not kept here any more. Its lines lie on a " +
          "blank sheet now, to scale; all else is as it was.",
      };
    }
    const ground = request.ground?.kind === "raster" ? ", and its ground is unknown until you choose one" : "";
    return {
      plan: { ...plan, base: BLANK },
      lack:
        "The elevation raster or map that this job was drawn on is not kept here any more. Its line is " +
        `not shown${ground}. All else is as it was, and the revision kept stays as it is.`,
    };
  }

  // Ask the planner whether someone else has saved since; silent where it cannot say.
  async look() {
    const { now } = this;
    const job = now && (await this.calls.get(now.id, { quiet: true }).catch(() => null));
    if (job && job.etag !== now.etag && this.#kept[now.id]) {
      const newer = job.revision > now.revision ? job.revision : undefined;
      this.#put(now.id, { ...now, newer, etag: newer ? now.etag : job.etag });
    }
  }

  // The job is gone, or belongs to another key: the plan stays, as one of no job.
  forget(id) {
    const { [id]: _, ...rest } = this.#kept;
    this.#kept = rest;
    this.#write();
    this.store.rewrite((plan) => (plan.job === id ? { ...plan, job: "" } : plan));
  }

  // A change of the job that is no save of its plan: it was put away or taken out.
  heed({ id, etag }) {
    if (this.#kept[id] && !this.#kept[id].newer) this.#put(id, { ...this.#kept[id], etag });
  }

  #keep(job, mark, older = null) {
    const { id, name, revision, etag, saved_at } = job;
    this.#put(id, { id, name, revision, etag, saved_at, draft: job.answer === null, mark, ...(older && { older }) });
  }

  #put(id, kept) {
    const { [id]: _, ...rest } = this.#kept;
    this.#kept = Object.fromEntries([...Object.entries(rest).slice(1 - MOST_KEPT), [id, kept]]);
    this.#write();
  }

  #write() {
    try {
      this.storage.setItem(KEPT, JSON.stringify(this.#kept));
    } catch {
      // A full store: which job it is lasts as long as the page.
    }
  }
}

function read(storage) {
  try {
    return JSON.parse(storage.getItem(KEPT)) ?? {};
  } catch {
    return {};
  }
}
