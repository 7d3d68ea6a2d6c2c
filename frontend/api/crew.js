// A crew's calls of the one job that its link opens. The key goes in a header of ours and nowhere
// else; what the browser itself knows of keys stays out of it.
import { refusalWords } from "../model/wording/jobs.js";
import { Refused } from "./jobs.js";
import { paper } from "./planner.js";

const BASE = "/api/v1/jobs";

export class CrewCalls {
  // `keyOf()` is the key to send, or null.
  constructor(job, keyOf) {
    Object.assign(this, { job, keyOf });
  }

  newest = () => this.#json("");

  revision = (number) => this.#json(`/revisions/${number}`);

  keepCheck = (body) => this.#json("/grade-checks", { body });

  paper = (name, revision) => paper(name, this.#ask(`/${name}?revision=${revision}`));

  // {answer} or {problem}, as the page's own check is answered; rejects where nothing can be reached.
  async check({ plan: _, ...readings }, revision, signal) {
    const response = await this.#ask("/grade-check", { body: { ...readings, revision }, signal });
    const content = await response.json();
    return response.ok ? { answer: content } : { problem: content };
  }

  async #json(path, options) {
    const response = await this.#ask(path, options).catch(() => null);
    if (!response) throw new Refused(0);
    if (response.ok) return response.json();
    const { detail, title } = await response.json().catch(() => ({}));
    const refused = new Refused(response.status, detail ?? title, response.headers.get("Retry-After"));
    if (response.status === 401) refused.message = detail ?? refusalWords(401);
    throw refused;
  }

  #ask(path, { body, signal } = {}) {
    const key = this.keyOf();
    const headers = {
      "X-Requested-With": "yardfall-page",
      ...(key && { Authorization: `Bearer ${key}` }),
      ...(body && { "Content-Type": "application/json" }),
    };
    const asked = { method: body ? "POST" : "GET", headers, body: body && JSON.stringify(body), signal };
    return fetch(`${BASE}/${this.job}${path}`, { ...asked, credentials: "omit", cache: "no-store" });
  }
}
