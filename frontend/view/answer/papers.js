// Papers to take along: each asks the planner for a file of the plan as it stands and keeps it.
import { fetchPaper } from "../../api/planner.js";
import { cornersOf, withStakes } from "../../model/request/paper.js";
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
const [FROM, TAGS] = ["fixed", "tags"];

export class Papers {
  #inputs = new Map();
  #buttons = new Map();
  #kept = {};

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
      this.#staking(),
    );
    this.#restore();
  }

  // Offer what this plan can have.
  show(plan) {
    const body = this.requestOf();
    this.section.hidden = !body;
    if (body) this.#offerCorners(body);
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
    this.from = h("select", { id: "paper-fixed", onchange: () => this.#keep() });
    this.tags = h("input", { id: "paper-tags", type: "checkbox", onchange: () => this.#keep() });
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

  // Offer the areas of this plan; the one chosen last stays, else what is called a house.
  #offerCorners(body) {
    const names = cornersOf(body);
    const key = JSON.stringify(names);
    if (this.from.dataset.key === key) return;
    this.from.dataset.key = key;
    this.from.replaceChildren(h("option", { value: "" }, "nothing"), ...names.map((name) => h("option", { value: name }, name)));
    const kept = this.#kept[FROM];
    this.from.value = names.includes(kept) ? kept : kept === "" ? "" : (names.find((name) => /house/i.test(name)) ?? "");
  }

  #stakes() {
    return { from: this.from.value, tags: this.tags.checked };
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
    this.#kept = { ...this.#head(), [FROM]: this.from.value, [TAGS]: this.tags.checked };
    localStorage.setItem(KEPT, JSON.stringify(this.#kept));
  }

  #restore() {
    let kept = {};
    try {
      kept = JSON.parse(localStorage.getItem(KEPT)) ?? {};
    } catch {
      localStorage.removeItem(KEPT);
    }
    this.#kept = kept;
    for (const [name, input] of this.#inputs) input.value = kept[name] ?? "";
    this.tags.checked = Boolean(kept[TAGS]);
  }

  async #take(name) {
    const body = this.requestOf();
    if (!body) return;
    const button = this.#buttons.get(name);
    button.setAttribute("aria-busy", "true");
    say(this.said, "Writing…");
    try {
      const { file, called } = await fetchPaper(name, withStakes({ ...body, paper: { ...body.paper, ...this.#head() } }, this.#stakes()));
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
