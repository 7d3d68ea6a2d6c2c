// Areas to keep out of and the lot line, as a list beside the map.
import { ringArea } from "../sums/point_words.js";
import { outlinesOf, withAreaName, withoutShape } from "../sums/shapes.js";
import { lengthUnitM, unitOf } from "../sums/units.js";
import { byId, h, say } from "./element.js";

export class Outlines {
  #drawn = null;

  // `onMove(id)` takes an outline under the hand; `planeOf()` answers the base's plane.
  constructor(store, { onMove, planeOf }) {
    Object.assign(this, { store, onMove, planeOf, host: byId("outline-list") });
  }

  show(plan) {
    const { lot, avoid } = outlinesOf(plan);
    const rings = [...avoid.map(({ ring }, i) => [`avoid:${i}`, ring]), ...(lot.length ? [["lot", lot]] : [])];
    const drawn = rings.map(([id]) => id).join(" ");
    if (drawn !== this.#drawn) this.host.replaceChildren(...rings.map(([id]) => this.#row(id)));
    this.#drawn = drawn;
    const unit = lengthUnitM(plan.units);
    rings.forEach(([id, ring], i) => {
      const row = this.host.children[i];
      const input = row.querySelector("input");
      const name = avoid[i]?.name ?? "";
      if (input && input.value !== name) input.value = name;
      const area = Math.round(ringArea(ring.map(this.planeOf().toMetres)) / unit ** 2);
      say(row.querySelector(".size"), `${ring.length} corners, ${area} ${unitOf("area", plan.units)}`);
      row.dataset.id = id;
    });
  }

  #row(id) {
    const i = Number(id.split(":")[1]);
    const name = id === "lot" ? h("b", null, "Lot line") : h("input", {
      id: `area-name-${i}`, "aria-label": `Name of area ${i + 1}`, autocomplete: "off",
      oninput: (event) => this.store.edit((plan) => withAreaName(plan, i, event.target.value), { key: id }),
    });
    const what = id === "lot" ? "the lot line" : `area ${i + 1}`;
    return h("li", null, name, h("span", { class: "size" }),
      h("button", { type: "button", class: "quiet", onclick: () => this.onMove(id), "aria-label": `Move the corners of ${what}` }, "Move corners"),
      h("button", { type: "button", class: "quiet", onclick: () => this.store.edit((plan) => withoutShape(plan, id)), "aria-label": `Remove ${what}` }, "Remove"));
  }
}
