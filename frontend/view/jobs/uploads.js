// A yard of one's own: what is offered on an empty sheet, and the files that were uploaded, to delete.
import { removeRaster, removeSitePlan } from "../../api/planner.js";
import { isBareSheet } from "../../model/document/shapes.js";
import { deletionWords } from "../../model/wording/uploads.js";
import { byId, h, say } from "../dom.js";

const WHEN = { dateStyle: "medium", timeStyle: "short" };

export class Uploads {
  #drawn = "";

  // `busy()` tells that the map is being drawn on; `demo` is the raster that comes with the planner.
  constructor(store, bases, { question, demo, busy, onDraw }) {
    Object.assign(this, { store, bases, question, demo, busy });
    this.offer = byId("own-yard");
    byId("own-blank").addEventListener("click", onDraw);
    this.list = h("ul", { class: "uploads", "aria-labelledby": "uploads-title" });
    this.said = h("p", { class: "hint", role: "status" });
    this.card = h("div", { class: "field", hidden: true }, h("h3", { id: "uploads-title" }, "What you uploaded"), this.list, this.said);
    byId("base-details").append(this.card);
  }

  show(plan) {
    this.offer.hidden = !isBareSheet(plan) || this.busy();
    const files = this.bases.uploads.filter(({ id }) => id !== this.demo);
    const drawn = files.map(({ id, name }) => `${id} ${name}`).join("|");
    if (drawn === this.#drawn) return;
    this.#drawn = drawn;
    this.list.replaceChildren(...files.map((file) => this.#row(file)));
    this.card.hidden = files.length === 0 && !this.said.textContent;
  }

  #row({ id, name, isPicture, uploaded_at: at }) {
    return h(
      "li",
      null,
      h(
        "span",
        null,
        h("b", null, name),
        " ",
        h("small", null, `${isPicture ? "Site plan" : "Raster"}, ${new Date(at).toLocaleString([], WHEN)}`),
      ),
      h(
        "button",
        { type: "button", class: "quiet", "aria-label": `Delete ${name}`, onclick: () => this.#delete(id, name, isPicture) },
        "Delete",
      ),
    );
  }

  async #delete(id, name, isPicture) {
    const drawnOn = this.store.plan.base === id;
    const answer = await this.question.ask({
      title: `Delete ${name}?`,
      words: deletionWords(isPicture, drawnOn),
      choices: [{ text: "Delete it", value: "delete" }],
      back: "Keep it",
    });
    if (!answer) return;
    try {
      await (isPicture ? removeSitePlan : removeRaster)(id);
      this.bases.forget(id);
      say(this.said, `${name} is deleted.${drawnOn ? " Your plan lies on a blank sheet now." : ""}`);
    } catch (reason) {
      say(this.said, `${name} was not deleted: ${reason.message}`);
    }
    this.show(this.store.plan);
    (this.list.querySelector("button") ?? byId("base")).focus();
  }
}
