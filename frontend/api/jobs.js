// The planner's calls of jobs. Where a key is needed it is asked for.
import { refusalWords } from "../model/wording/jobs.js";
import { call, keepKey, ranOut } from "./call.js";

// Why the planner refused; `status` is 0 where it could not be reached.
export class Refused extends Error {
  constructor(status, detail = "", waitS = null) {
    super(refusalWords(status, detail, waitS));
    this.status = status;
  }
}

export class JobCalls {
  // `askKey(again)` gives the key that someone types, or null if they cancel.
  constructor(askKey) {
    this.askKey = askKey;
  }

  list = (page, search, state) => this.#json(`jobs?${new URLSearchParams({ page, page_size: 20, search, state })}`);

  get = (id, { quiet = false } = {}) => this.#json(`jobs/${id}`, { quiet });

  create = (body) => this.#json("jobs", { method: "POST", body });

  save = (id, etag, body) => this.#json(`jobs/${id}`, { method: "PUT", body, etag });

  copy = (id, name) => this.#json(`jobs/${id}/copies`, { method: "POST", body: { name } });

  archive = (id, archived) => this.#json(`jobs/${id}/archive`, { method: "POST", body: { archived } });

  remove = (id, etag) => this.#send(`jobs/${id}`, { method: "DELETE", etag });

  revisions = (id) => this.#json(`jobs/${id}/revisions?page_size=200`);

  revision = (id, number, { quiet = false } = {}) => this.#json(`jobs/${id}/revisions/${number}`, { quiet });

  checks = (id, { quiet = false } = {}) => this.#json(`jobs/${id}/grade-checks?page_size=200`, { quiet });

  check = (id, number) => this.#json(`jobs/${id}/grade-checks/${number}`);

  links = (id) => this.#json(`jobs/${id}/crew-links`);

  makeLink = (id, name) => this.#json(`jobs/${id}/crew-links`, { method: "POST", body: { name } });

  withdraw = (id, link) => this.#send(`jobs/${id}/crew-links/${link}`, { method: "DELETE" });

  keepCheck = (id, body) => this.#json(`jobs/${id}/grade-checks`, { method: "POST", body });

  async exportAll() {
    return (await this.#send("export")).blob();
  }

  importAll(file) {
    const form = new FormData();
    form.append("file", file);
    return this.#json("imports", { method: "POST", form });
  }

  async #json(path, options) {
    return (await this.#send(path, options)).json();
  }

  async #send(path, options = {}) {
    for (let asked = false; ; asked = true) {
      const response = await call(path, { ...options, cache: "no-store" }).catch(() => null);
      if (!response) throw new Refused(0);
      if (response.ok) return response;
      const problem = await response.json().catch(() => ({}));
      const key = response.status === 401 && !options.quiet ? await this.askKey(asked) : null;
      const wait = response.headers.get("Retry-After");
      const status = ranOut(problem) ? 422 : response.status; // its own sentence says what to do
      if (!key) throw new Refused(status, problem.detail ?? problem.title, wait);
      keepKey(key);
    }
  }
}
