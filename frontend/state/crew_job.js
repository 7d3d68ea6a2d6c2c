// The job that a crew's link opens, and what this phone keeps of it: its key, and the plan as it last
// came, so that the trench opens with no network.
import { addressSays, keepAddress } from "./address.js";

const KEPT = "yardfall.crew.1";
const MOST_KEPT = 20;
const PARTS = ["id", "name", "revision", "saved_at", "saved_by", "request", "answer", "newest"];

export class CrewJob {
  #all;
  #key = null; // where the browser keeps nothing

  // The address tells the job and its revision; a key in it is taken out, so that nobody reads it there.
  constructor(storage) {
    this.storage = storage;
    this.#all = read(storage);
    this.id = addressSays("job");
    this.revision = Number(addressSays("revision")) || null;
    const key = addressSays("crew");
    if (this.id && key) {
      this.#key = key;
      if (this.#put({ ...this.#all[this.id], key })) keepAddress({ crew: null });
    }
  }

  get key() {
    return this.#key ?? this.#all[this.id]?.key ?? null;
  }

  // What came last of this revision, or null.
  get last() {
    const { job } = this.#all[this.id] ?? {};
    return job && (this.revision === null || this.revision === job.revision) ? job : null;
  }

  // `job` as the planner told it, with `newest`, the number of its newest revision.
  keep(job) {
    const { sentence, overall } = job.answer?.whole ?? {};
    const kept = Object.fromEntries(PARTS.map((name) => [name, job[name]]));
    this.#put({ ...this.#all[this.id], job: { ...kept, sentence, overall } });
    return this.#all[this.id].job;
  }

  // The link opens nothing any more: what it brought goes.
  forget() {
    const { [this.id]: _, ...rest } = this.#all;
    this.#all = rest;
    this.#key = null;
    this.#write();
  }

  #put(entry) {
    const { [this.id]: _, ...rest } = this.#all;
    this.#all = Object.fromEntries([...Object.entries(rest).slice(1 - MOST_KEPT), [this.id, entry]]);
    return this.#write();
  }

  #write() {
    try {
      this.storage.setItem(KEPT, JSON.stringify(this.#all));
      return true;
    } catch {
      return false; // a full store: it lasts as long as the page
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
