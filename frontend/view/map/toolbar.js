// The tools over the map: what to draw, what to place, whose points to move, snapping.
import { shapesOf } from "../../model/document/shapes.js";
import { byId, h } from "../dom.js";

const SHAPES = [
  ["branch", "A branch"],
  ["target", "A place to reach: a ditch, a curb"],
  ["avoid", "An area to keep out of"],
  ["cover", "An area that needs cover: a walk, a drive, a bed"],
  ["lot", "The lot line"],
  ["fixed", "A fixed point to tape from"],
];
const THINGS = [
  ["inflows", "An inlet"],
  ["crossings", "Something to pass"],
];

export class MapTools {
  constructor(store, active, { pen, along, site, offer, snapping, onDraw }) {
    Object.assign(this, { store, active, pen, along, site, offer });
    const button = (id, text, onclick, look = null) => h("button", { type: "button", id, class: look, onclick }, text);
    const item = (id, text, act) =>
      button(id, text, () => {
        this.menu.open = false;
        act();
      });
    this.menu = h(
      "details",
      { class: "menu", id: "add-menu" },
      h("summary", null, "Add to the map"),
      h(
        "div",
        { class: "menu-list" },
        SHAPES.slice(0, 1).map(([kind, text]) => item(`draw-${kind}`, text, () => onDraw(kind))),
        THINGS.map(([sheet, text]) => item(`place-${sheet}`, text, () => along.begin(sheet))),
        SHAPES.slice(1).map(([kind, text]) => item(`draw-${kind}`, text, () => onDraw(kind))),
      ),
    );
    this.select = h("select", { id: "shape", onchange: () => active.choose(this.select.value) });
    this.choice = h("label", { class: "shape-choice", for: "shape" }, "Points of", this.select);
    this.snap = button(
      "snap",
      "Snapping on",
      () => {
        snapping.on = !snapping.on;
        this.snap.setAttribute("aria-pressed", String(snapping.on));
        this.snap.textContent = snapping.on ? "Snapping on" : "Snapping off";
      },
      "quiet",
    );
    this.snap.setAttribute("aria-pressed", "true");
    byId("map-tools").append(
      button("draw", "Draw a new line", () => onDraw("line")),
      this.menu,
      this.choice,
      this.snap,
      button("draw-finish", "Finish", () => pen.finish(), "primary"),
      button("draw-back", "Take back a point", () => pen.takeBack(), "quiet"),
      button("draw-cancel", "Cancel", () => this.#cancel(), "quiet"),
    );
    document.addEventListener("click", (event) => {
      if (!this.menu.contains(event.target)) this.menu.open = false;
    });
  }

  #cancel() {
    if (this.along.placing) this.along.stop();
    else if (this.site.clicking) this.site.stop();
    else if (this.offer.clicking) this.offer.stop();
    else this.pen.cancel();
  }

  show(plan) {
    const { drawing } = this.pen;
    const placing = this.along.placing || this.site.clicking || this.offer.clicking;
    const shapes = shapesOf(plan);
    byId("draw").hidden = drawing || placing;
    byId("map-tools").classList.toggle("busy", drawing || placing);
    this.menu.hidden = drawing || placing;
    this.choice.hidden = drawing || placing || shapes.length < 2;
    this.snap.hidden = placing;
    byId("draw-words").hidden = !drawing && !placing;
    for (const id of ["draw-finish", "draw-back"]) byId(id).hidden = !drawing;
    byId("draw-cancel").hidden = !drawing && !placing;
    byId("draw-back").disabled = this.active.points.length === 0;
    const names = shapes.map(({ name }) => name).join("|");
    if (names !== this.select.dataset.names) {
      this.select.dataset.names = names;
      this.select.replaceChildren(...shapes.map(({ id, name }) => h("option", { value: id }, name)));
    }
    this.select.value = this.active.id;
  }
}
