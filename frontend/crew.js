// The page of a crew: one job, its papers, and its trench. It has no way to anything else.
import { CrewCalls } from "./api/crew.js";
import { keepPage, WITHHELD } from "./api/pocket.js";
import { momentText } from "./model/wording/jobs.js";
import { addressSays, keepAddress } from "./state/address.js";
import { CrewJob } from "./state/crew_job.js";
import { TrenchLog } from "./state/trench_log.js";
import { byId, h, say } from "./view/dom.js";
import { AsBuilt } from "./view/trench/as_built.js";
import { TrenchCheck } from "./view/trench/trench.js";
import { Question } from "./view/widgets/dialog.js";

const PAPERS = [
  { name: "dig-sheet.pdf", text: "Dig sheet, PDF", about: "to print and take to the trench" },
  { name: "dig-sheet.html", text: "Dig sheet, web page", about: "reads on a phone" },
  { name: "map.html", text: "Map", about: "one file, opens without internet", drawn: true },
  { name: "stations.csv", text: "Stations", about: "for a spreadsheet" },
];
const TONES = { yes: "pass", no: "fail", too_close: "away" };
const NO_JOB = "No job is named in this address. Open the whole link that you were sent.";
const ASK = {
  title: "This job needs its link",
  words:
    "Open the link that you were sent for this job once on this phone: from then on its sheet's code opens it here. " +
    "With a key of the planner, type that instead; it is kept for this window only.",
  choices: [{ text: "Use this key", value: "key" }],
  back: "Not now",
};
const KEY = "yardfall.key";
const IN_TRENCH = "in-the-trench";

class CrewPage {
  async start() {
    this.job = new CrewJob(localStorage);
    this.calls = new CrewCalls(this.job.id, () => this.job.key ?? sessionStorage.getItem(KEY));
    this.question = new Question();
    addEventListener("hashchange", () => this.#isElsewhere() && location.reload());
    if (this.job.id) await this.#load();
    else this.#tell("none", NO_JOB);
    document.documentElement.dataset.ready = "yes";
    keepPage().then((kept) => {
      if (!kept && !isSecureContext) byId("crew").append(h("p", { class: "hint", id: "withheld" }, WITHHELD));
    });
  }

  // Another code was scanned, or another link opened, in this window.
  #isElsewhere() {
    const revision = Number(addressSays("revision")) || null;
    return addressSays("crew") !== null || addressSays("job") !== this.job.id || revision !== this.job.revision;
  }

  async #load() {
    try {
      this.#show(await this.#ask());
    } catch (refused) {
      if (!("status" in refused)) throw refused;
      const last = this.job.last;
      if (refused.status === 0 && last) {
        this.#show(last, "The planner cannot be reached: this is the job as it last came here.");
        this.away = true;
        addEventListener("online", () => this.#backAgain(last));
      } else this.#refused(refused);
    }
  }

  // The planner is there again: say no more that it is not, and whether a newer revision is kept.
  async #backAgain(shown) {
    if (!this.away) return;
    const job = await this.#ask().catch(() => null);
    if (!job) return;
    this.away = false;
    this.#stand(shown);
    this.#showNewer({ revision: shown.revision, newest: job.newest });
  }

  async #ask() {
    const newest = await this.calls.newest();
    const { revision } = this.job;
    const wanted = revision === null || revision === newest.revision ? newest : await this.calls.revision(revision);
    return this.job.keep({ ...wanted, id: newest.id, newest: newest.revision });
  }

  async #refused({ status, message }) {
    if (status === 401 && this.job.key === null && (await this.#typed())) {
      await this.#load();
      return;
    }
    if (status === 401) this.job.forget();
    const gone = status === 404 ? "There is no such job here, or the key is not its own." : message;
    this.#tell("none", status === 401 && this.job.key === null ? `${message} ${NO_LINK}` : gone);
  }

  async #typed() {
    const input = h("input", {
      id: "planner-key",
      type: "password",
      autocomplete: "off",
      onkeydown: (event) => event.key === "Enter" && this.question.dialog.close("key"),
    });
    const parts = [h("div", { class: "field" }, h("label", { for: input.id }, "Key"), input)];
    const given = await this.question.ask({ ...ASK, parts });
    const key = given && input.value.trim();
    if (key) sessionStorage.setItem(KEY, key);
    return Boolean(key);
  }

  #tell(tone, text) {
    byId("crew-sentence").dataset.verdict = tone;
    say(byId("crew-sentence"), text);
  }

  #show(job, standing = "") {
    document.title = `${job.name} · Yardfall`;
    say(byId("crew-title"), job.name);
    this.#stand(job, standing);
    this.#tell(TONES[job.overall] ?? "none", job.sentence ?? "This job is a draft that has no answer yet: there is nothing to dig by.");
    this.#showNewer(job);
    if (!job.sentence) return;
    this.#offerPapers(job);
    this.trench = new TrenchCheck({
      requestOf: () => job.request,
      knownOf: () => job.answer && { body: job.request, answer: job.answer },
      before: byId("crew-papers"),
      send: (body, signal) => this.calls.check(body, job.revision, signal),
      log: new TrenchLog(localStorage, job.id),
    });
    new AsBuilt(this.trench, { keepCheck: (body) => this.#keepCheck(body, job) });
    this.trench.show();
    this.trench.begin();
  }

  #stand({ revision, saved_at: at, saved_by: by }, more = "") {
    say(byId("crew-standing"), `Revision ${revision}, kept ${momentText(at)} by ${by}. ${more}`.trim());
  }

  // A sheet of before: the trench does not open by itself, so that this is read first.
  #showNewer({ revision, newest }) {
    const newer = byId("crew-newer");
    newer.hidden = revision >= newest;
    if (newer.hidden) return;
    const wanted = addressSays(IN_TRENCH);
    keepAddress({ [IN_TRENCH]: null });
    newer.replaceChildren(
      h(
        "p",
        null,
        `Your sheet is revision ${revision}; revision ${newest} was kept since, and its depths may differ. Ask which to dig by.`,
      ),
      h(
        "button",
        {
          type: "button",
          id: "crew-to-newest",
          onclick: () => {
            keepAddress({ revision: null, [IN_TRENCH]: wanted });
            location.reload();
          },
        },
        `Go to revision ${newest}`,
      ),
    );
  }

  #offerPapers(job) {
    const drawn = Boolean(job.request.route?.line);
    byId("crew-papers").hidden = false;
    byId("crew-papers")
      .querySelector(".paper-list")
      .replaceChildren(
        ...PAPERS.filter((paper) => drawn || !paper.drawn).map(({ name, text, about }) =>
          h(
            "button",
            { type: "button", class: "paper", "data-paper": name, onclick: () => this.#take(name, job.revision) },
            h("b", null, text),
            h("small", null, about),
          ),
        ),
      );
  }

  async #take(name, revision) {
    const said = byId("papers-said");
    say(said, "Writing…");
    try {
      const { file, called } = await this.calls.paper(name, revision);
      const url = URL.createObjectURL(file);
      h("a", { href: url, download: called }).click();
      setTimeout(() => URL.revokeObjectURL(url), 60_000);
      say(said, `${called} is in your downloads.`);
    } catch (error) {
      say(said, error.message);
    }
  }

  // How it went, in a sentence.
  async #keepCheck({ plan: _, ...readings }, job) {
    try {
      const { number } = await this.calls.keepCheck({ ...readings, revision: job.revision });
      await this.#backAgain(job);
      return `Kept as check ${number} of “${job.name}”, against revision ${job.revision}.`;
    } catch (refused) {
      if (!("status" in refused)) throw refused;
      return refused.status === 0
        ? "The planner cannot be reached. What you read stays on this phone; keep it again later."
        : refused.message;
    }
  }
}

const NO_LINK = "Open the link that you were sent for this job once on this phone.";

new CrewPage().start().catch((error) => {
  byId("crew-sentence").textContent = "The page could not load what it needs. Is the planner running? Then reload.";
  console.error(error);
});
