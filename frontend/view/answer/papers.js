// Papers to take along: each asks the planner for a file of the plan as it stands and keeps it.
import { fetchKeptPaper, fetchPaper } from "../../api/planner.js";
import { withValue } from "../../model/document/document.js";
import { cornersNow, cornersOf } from "../../model/request/paper.js";
import { h, say } from "../dom.js";

const KEPT = "yardfall.title-block";
const PAPERS = [
  { name: "dig-sheet.pdf", text: "Dig sheet, PDF", about: "to print and take to the trench" },
  { name: "dig-sheet.html", text: "Dig sheet, web page", about: "prints too, and reads on a phone" },
  { name: "map.html", text: "Map", about: "one file, opens on a phone without internet", drawn: true },
  { name: "stations.csv", text: "Stations", about: "for a spreadsheet" },
  { name: "profile.svg", text: "Profile", about: "the trench from the side, a drawing" },
  { name: "plan.gpkg", text: "GeoPackage", about: "layers for a map program" },
  { name: "plan.geojson", text: "GeoJSON", about: "layers for other software" },
];
const FIELDS = [
  ["title", "Job name"],
  ["place", "Place"],
  ["prepared_for", "Prepared for"],
  ["prepared_by", "Prepared by"],
  ["date", "Date"],
];
const LONGEST = { date: 40 };

export class Papers {
  #inputs = new Map();
  #buttons = new Map();

  // `requestOf()` is the request of the plan as it stands with what papers show beside it, or null
  // while it lacks something; `keptAs()` promises the {id, revision} that keeps just this, or null.
  constructor(section, store, { requestOf, keptAs }) {
    Object.assign(this, { section, store, requestOf, keptAs });
    this.said = h("p", { class: "hint", id: "papers-said", role: "status" });
    section.append(
      h("h2", { id: "papers-title" }, "Papers to take along"),
      h(
        "div",
        { class: "paper-list" },
        PAPERS.map((paper) => this.#button(paper)),
      ),
      this.said,
      h(
        "details",
        { class: "more" },
        h("summary", null, "Title block"),
        h(
          "div",
          { class: "paper-head" },
          FIELDS.map(([name, text]) => this.#field(name, text)),
          this.#page(),
        ),
      ),
      this.#staking(),
    );
    this.#restore();
  }

  // Offer what this plan can have.
  show(plan) {
    const body = this.requestOf();
    this.section.hidden = !body;
    if (body) this.#offerCorners(body, plan);
    const drawn = plan.route.kind === "drawn";
    for (const { name, drawn: needed } of PAPERS) this.#buttons.get(name).disabled = needed && !drawn;
    say(this.said, drawn ? "" : "A map needs a line drawn on a map: a taped run has no place on one.");
  }

  #button({ name, text, about }) {
    const button = h(
      "button",
      { type: "button", class: "paper", "data-paper": name, onclick: () => this.#take(name) },
      h("b", null, text),
      h("small", null, about),
    );
    this.#buttons.set(name, button);
    return button;
  }

  #field(name, text) {
    const input = h("input", {
      id: `paper-${name}`,
      maxlength: LONGEST[name] ?? 200,
      autocomplete: "off",
      oninput: () => this.#keep(),
    });
    this.#inputs.set(name, input);
    return h("div", { class: "field" }, h("label", { for: input.id }, text), input);
  }

  // How the sheet ties the stations: from the corners of what, and with a tag for each stake.
  #staking() {
    const choose = (name, value) => this.store.edit((plan) => withValue(plan, `stakes.${name}`, value));
    this.from = h("select", { id: "paper-fixed", onchange: () => choose("from", this.from.value) });
    this.tags = h("input", { id: "paper-tags", type: "checkbox", onchange: () => choose("tags", this.tags.checked) });
    return h(
      "details",
      { class: "more" },
      h("summary", null, "Stakes"),
      h(
        "div",
        { class: "paper-head" },
        h("div", { class: "field" }, h("label", { for: "paper-fixed" }, "Tape from the corners of"), this.from),
        h("label", { class: "stake-tag" }, this.tags, " A tag for each stake, to cut out"),
        h(
          "p",
          { class: "hint" },
          "Each station then gets two tape distances, from these corners and from the fixed points on the map. Draw the house as an area to keep out of, and name it, if it is not listed; or mark fixed points on the map.",
        ),
      ),
    );
  }

  // Offer the areas of this plan to tape from.
  #offerCorners(body, plan) {
    const names = cornersOf(body);
    const key = JSON.stringify(names);
    if (this.from.dataset.key !== key) {
      this.from.dataset.key = key;
      this.from.replaceChildren(h("option", { value: "" }, "nothing"), ...names.map((name) => h("option", { value: name }, name)));
    }
    this.from.value = cornersNow(body, plan);
    this.tags.checked = plan.stakes.tags;
  }

  #page() {
    const select = h(
      "select",
      { id: "paper-page", onchange: () => this.#keep() },
      h("option", { value: "" }, "usual for the units"),
      h("option", { value: "letter" }, "Letter"),
      h("option", { value: "a4" }, "A4"),
    );
    this.#inputs.set("page", select);
    return h("div", { class: "field" }, h("label", { for: select.id }, "Paper"), select);
  }

  // What is filled in, as the planner takes it.
  #head() {
    const filled = [...this.#inputs].map(([name, input]) => [name, input.value.trim()]);
    return Object.fromEntries(filled.filter(([, value]) => value));
  }

  #keep() {
    localStorage.setItem(KEPT, JSON.stringify(this.#head()));
  }

  #restore() {
    let kept = {};
    try {
      kept = JSON.parse(localStorage.getItem(KEPT)) ?? {};
    } catch {
      localStorage.removeItem(KEPT);
    }
    for (const [name, input] of this.#inputs) input.value = kept[name] ?? "";
  }

  async #take(name) {
    const body = this.requestOf();
    if (!body) return;
    const button = this.#buttons.get(name);
    button.setAttribute("aria-busy", "true");
    say(this.said, "Writing…");
    try {
      const kept = await this.keptAs();
      const { file, called } = kept
        ? await fetchKeptPaper(name, kept, this.#head())
        : await fetchPaper(name, { ...body, paper: { ...body.paper, ...this.#head() } });
      const url = URL.createObjectURL(file);
      h("a", { href: url, download: called }).click();
      setTimeout(() => URL.revokeObjectURL(url), 60_000);
      say(this.said, `${called} is in your downloads.`);
    } catch (error) {
      say(this.said, error.message);
    }
    button.removeAttribute("aria-busy");
  }
}
