// Papers to take along: each asks the planner for a file of the plan as it stands and keeps it.
import { fetchPaper } from "../../api/planner.js";
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
  // while it lacks something.
  constructor(section, requestOf) {
    Object.assign(this, { section, requestOf });
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
    );
    this.#restore();
  }

  // Offer what this plan can have.
  show(plan) {
    this.section.hidden = !this.requestOf();
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
      const file = await fetchPaper(name, { ...body, paper: { ...body.paper, ...this.#head() } });
      const url = URL.createObjectURL(file);
      h("a", { href: url, download: name }).click();
      setTimeout(() => URL.revokeObjectURL(url), 60_000);
      say(this.said, `${name} is in your downloads.`);
    } catch (error) {
      say(this.said, error.message);
    }
    button.removeAttribute("aria-busy");
  }
}
