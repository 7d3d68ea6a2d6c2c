// Places to reach, areas to keep out of, the lot line and fixed points, as a list beside the map.

import { isClosed, isOnePoint, kindOf, nameOf, pointsOf, shapesOf, withName, withoutShape } from "../../model/document/shapes.js";
import { sizeWords } from "../../model/wording/points.js";
import { byId, h, say } from "../dom.js";

const CALLED = { avoid: "area", target: "place", fixed: "fixed point" };
const ABOUT =
  "A place to reach is where the water should come out. “Where can it come out?” tells for each whether gravity brings it there, and by which route.";

export class Outlines {
  #drawn = null;

  // `onMove(id)` takes an outline under the hand; `planeOf()` answers the base's plane.
  constructor(store, { onMove, planeOf }) {
    Object.assign(this, { store, onMove, planeOf, host: byId("outline-list") });
    this.about = h("p", { class: "hint", id: "targets-about", hidden: true }, ABOUT);
    this.host.before(this.about);
    this.home = this.host.previousElementSibling.previousElementSibling;
  }

  // Move the list into another part of the page; null: back to its own place.
  standIn(part) {
    if (part) part.append(this.about, this.host);
    else this.home.after(this.about, this.host);
  }

  show(plan) {
    const ids = shapesOf(plan)
      .map(({ id }) => id)
      .filter((id) => ["target", "avoid", "lot", "fixed"].includes(kindOf(id)));
    if (ids.join(" ") !== this.#drawn) this.host.replaceChildren(...ids.map((id) => this.#row(id)));
    this.#drawn = ids.join(" ");
    this.about.hidden = !ids.some((id) => kindOf(id) === "target");
    const plane = this.planeOf();
    ids.forEach((id, i) => {
      const row = this.host.children[i];
      const input = row.querySelector("input");
      if (input && input.value !== nameOf(plan, id)) input.value = nameOf(plan, id);
      const points = pointsOf(plan, id).map(plane.toMetres);
      const isPoint = !isClosed(id) && points.length < 2;
      say(row.querySelector(".size"), isPoint ? "one point" : sizeWords(points, { id, units: plan.units }));
      row.dataset.id = id;
    });
  }

  #row(id) {
    const i = Number(id.split(":")[1]);
    const called = CALLED[kindOf(id)];
    const what = id === "lot" ? "the lot line" : `${called} ${i + 1}`;
    const name =
      id === "lot"
        ? h("b", null, "Lot line")
        : h("input", {
            id: `${called.replace(" ", "-")}-name-${i}`,
            "aria-label": `Name of ${what}`,
            autocomplete: "off",
            oninput: (event) => this.store.edit((plan) => withName(plan, id, event.target.value), { key: `name ${id}` }),
          });
    const points = isOnePoint(id) ? "point" : isClosed(id) ? "corners" : "points";
    return h(
      "li",
      { class: `outline-${kindOf(id)}` },
      called && !isClosed(id) && h("span", { class: "outline-sign", "aria-hidden": "true" }),
      name,
      h("span", { class: "size" }),
      h(
        "button",
        {
          type: "button",
          class: "quiet",
          onclick: () => this.onMove(id),
          "aria-label": isOnePoint(id) ? `Move ${what}` : `Move the ${points} of ${what}`,
        },
        isOnePoint(id) ? "Move" : `Move ${points}`,
      ),
      h(
        "button",
        {
          type: "button",
          class: "quiet",
          onclick: () => this.store.edit((plan) => withoutShape(plan, id)),
          "aria-label": `Remove ${what}`,
        },
        "Remove",
      ),
    );
  }
}
