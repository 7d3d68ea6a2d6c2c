// The job on the page: its address, the links that let a crew in, and its revisions.
import { fetchPageSettings } from "../../api/planner.js";
import { momentText, VERDICT_WORDS } from "../../model/wording/jobs.js";
import { addressOf } from "../../state/address.js";
import { h, say } from "../dom.js";
import { CopyField } from "../widgets/copy_field.js";
import { checkRows } from "./checks.js";

const HERE_ALONE = ["localhost", "127.0.0.1", "[::1]"];

export class JobSheet {
  #job = null;
  #origin = location.origin;

  // `open(id, number)` puts a revision on the page, `compare(job, number)` holds one against the newest,
  // `saveNew()` keeps the plan as another job.
  constructor(calls, { open, compare, saveNew }) {
    Object.assign(this, { calls, open, compare });
    this.title = h("h2", { id: "job-sheet-title" });
    this.said = h("p", { role: "status", id: "job-sheet-said" });
    this.address = new CopyField("job-address", "Its address");
    this.reach = h("p", { class: "hint", id: "job-reach" });
    this.crew = h("input", {
      id: "crew-name",
      maxlength: 200,
      autocomplete: "off",
      placeholder: "Dave's crew",
      onkeydown: (event) => event.key === "Enter" && this.#make(),
    });
    this.made = new CopyField("crew-link", "The new link, shown this once");
    this.links = h("ul", { class: "job-rows", "aria-label": "Links for a crew" });
    this.checks = h("ul", { class: "job-rows", "aria-label": "Checks of the trench" });
    this.revisions = h("ul", { class: "job-rows", "aria-label": "Revisions" });
    this.dialog = h(
      "dialog",
      { class: "job-sheet", id: "job-sheet", "aria-labelledby": "job-sheet-title" },
      h(
        "div",
        { class: "card-head" },
        this.title,
        h("button", { type: "button", id: "job-sheet-close", onclick: () => this.close() }, "Back to the plan"),
      ),
      this.address.element,
      this.reach,
      h("h3", null, "Links for a crew"),
      h(
        "p",
        { class: "hint" },
        "A link opens this job alone, its papers, and its trench check, without a key of the planner. Whoever has it can use it: " +
          "withdraw it when the work is done.",
      ),
      h(
        "div",
        { class: "crew-new" },
        h("div", { class: "field" }, h("label", { for: "crew-name" }, "Who is it for?"), this.crew),
        h("button", { type: "button", id: "crew-make", onclick: () => this.#make() }, "Make a link"),
      ),
      this.made.element,
      this.said,
      this.links,
      h("h3", null, "Checks of the trench"),
      this.checks,
      h("h3", null, "Revisions"),
      this.revisions,
      h(
        "button",
        {
          type: "button",
          id: "job-save-new",
          onclick: () => {
            this.close();
            saveNew();
          },
        },
        "Save the plan as a new job",
      ),
    );
    document.body.append(this.dialog);
  }

  // `older` is the number of the earlier revision that is on the page, or null.
  async show(job, older) {
    const [{ revisions }, { crew_links: links }, { grade_checks: checks }, settings] = await Promise.all([
      this.calls.revisions(job.id),
      this.calls.links(job.id),
      this.calls.checks(job.id),
      fetchPageSettings().catch(() => ({})),
    ]);
    this.#job = job;
    this.#origin = settings.public_url ?? location.origin;
    say(this.title, job.name);
    say(this.said, "");
    this.address.show(addressOf(job.id, { origin: this.#origin, more: older === null ? "" : `&revision=${older}` }));
    this.made.hide();
    const alone = HERE_ALONE.includes(new URL(this.#origin).hostname);
    say(this.reach, alone ? "It opens on this machine alone, and so does a link: others cannot reach this planner by it." : "");
    this.reach.hidden = !alone;
    this.#listLinks(links);
    this.checks.replaceChildren(...checkRows(this.calls, job.id, checks));
    this.revisions.replaceChildren(...revisions.map((revision) => this.#revision(revision, revisions[0], older)));
    if (!this.dialog.open) this.dialog.showModal();
    this.address.button.focus();
  }

  close() {
    if (this.dialog.open) this.dialog.close();
  }

  #revision({ revision, saved_at: at, saved_by: by, overall }, newest, older) {
    const here = revision === (older ?? newest.revision) ? " · on the page now" : "";
    const act = (text, what) => h("button", { type: "button", "aria-label": `${text}: revision ${revision}`, onclick: what }, text);
    return h(
      "li",
      { "data-revision": revision },
      h(
        "p",
        { class: "job-facts" },
        h("b", null, `Revision ${revision}`),
        h("small", null, `${overall ? VERDICT_WORDS[overall] : "Draft, no answer"} · ${momentText(at)}, by ${by}${here}`),
      ),
      h(
        "div",
        { class: "job-acts" },
        act("Open", () => this.#open(revision)),
        revision < newest.revision &&
          act("Compare with the newest", () => {
            this.close();
            this.compare(this.#job, revision);
          }),
      ),
    );
  }

  async #open(revision) {
    say(this.said, (await this.open(this.#job.id, revision)) ?? "");
  }

  #listLinks(links) {
    this.links.replaceChildren(...links.map((link) => this.#link(link)));
  }

  #link({ id, name, made_at: made, made_by: by, used_at: used }) {
    const withdraw = () =>
      this.#try(async () => {
        await this.calls.withdraw(this.#job.id, id);
        this.made.hide();
        await this.#again();
        say(this.said, `The link for “${name}” opens nothing any more.`);
        this.crew.focus();
      });
    return h(
      "li",
      { "data-link": id },
      h(
        "p",
        { class: "job-facts" },
        h("b", null, name),
        h("small", null, `made ${momentText(made)} by ${by} · ${used ? `last used ${momentText(used)}` : "not used yet"}`),
      ),
      h(
        "div",
        { class: "job-acts" },
        h("button", { type: "button", "aria-label": `Withdraw the link for ${name}`, onclick: withdraw }, "Withdraw"),
      ),
    );
  }

  #make() {
    return this.#try(async () => {
      const name = this.crew.value.trim();
      this.crew.setAttribute("aria-invalid", String(!name));
      if (!name) {
        say(this.said, "Say who the link is for first: its checks are kept under that name.");
        this.crew.focus();
        return;
      }
      const { address } = await this.calls.makeLink(this.#job.id, name);
      this.crew.value = "";
      this.made.show(`${this.#origin}${address}`);
      await this.#again();
      this.made.button.focus();
      say(this.said, `Send it to “${name}”: it is not shown again.`);
    });
  }

  async #again() {
    this.#listLinks((await this.calls.links(this.#job.id)).crew_links);
  }

  async #try(act) {
    try {
      await act();
    } catch (refused) {
      if (!("status" in refused)) throw refused;
      say(this.said, refused.message);
    }
  }
}
