// The as-built record from the check's card: what the trench reads now, kept with the plan's job.
import { checkRequest, readingsNow } from "../../model/request/trench.js";
import { h, say } from "../dom.js";

export class AsBuilt {
  // Goes into the card of `trench`; saves through `jobs`.
  constructor(trench, jobs) {
    Object.assign(this, { trench, jobs });
    this.said = h("p", { class: "job-said", id: "trench-kept", role: "status" });
    trench.card.append(
      h("button", { type: "button", id: "trench-keep", onclick: () => this.#keep() }, "Keep this check with the job"),
      this.said,
    );
  }

  async #keep() {
    const { requestOf, log } = this.trench;
    const plan = requestOf();
    if (!plan || !readingsNow(log.kept, plan).length) {
      say(this.said, "Nothing is read in the trench yet.");
      return;
    }
    say(this.said, (await this.jobs.keepCheck(checkRequest(log.kept, plan))) ?? "");
  }
}
