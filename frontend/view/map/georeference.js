// Where a site plan lies on a raster. Once its point A is shown on both and north is known, what
// is drawn can be carried from one to the other.
import { gestureKey } from "../../model/changes/history.js";
import { siteOf, tieAt, tiedAt, withSite } from "../../model/document/site_plans.js";
import { toPlan } from "../../model/geometry/placement.js";
import { readEntry } from "../../model/units/entry.js";
import { plain } from "../../model/units/units.js";
import { byId, h, say } from "../dom.js";
import { reveal } from "../layout.js";

const WAYS = ["east (X)", "north (Y)"];

export class Tie {
  #picture = null;
  #busy = null;

  // `onChange` is called when showing a point on the raster begins or ends, `onBegin` before it begins.
  constructor(yardMap, store, bases, { onChange, onBegin }) {
    Object.assign(this, { yardMap, store, bases, onChange, onBegin, frame: byId("map") });
    yardMap.map.on("click", (event) => this.#busy && this.#click(event.latlng));
    this.frame.addEventListener("keydown", (event) => {
      if (this.#busy && event.key === "Escape") this.stop();
    });
    this.select = h("select", { id: "tie-raster", onchange: () => this.show(this.store.plan, this.#picture) });
    this.button = h("button", { type: "button", id: "tie-show", onclick: () => this.begin() }, "Show A on the raster");
    this.inputs = WAYS.map((way, k) =>
      h("input", {
        id: `tie-${k}`,
        inputmode: "decimal",
        autocomplete: "off",
        onchange: () => this.#typed(),
      }),
    );
    this.words = h("p", { class: "hint" });
    this.element = h(
      "details",
      { class: "more", id: "tie" },
      h("summary", null, "Where it lies on a raster"),
      h("p", { class: "hint" }, "With scale and north set, one point on both is enough. Your line then goes along when you switch."),
      h("div", { class: "field" }, h("label", { for: "tie-raster" }, "Raster"), this.select),
      this.words,
      this.button,
      h(
        "div",
        { class: "pair" },
        this.inputs.map((input, k) => h("div", { class: "field" }, h("label", { for: input.id }, `A on the raster, ${WAYS[k]}`), input)),
      ),
    );
  }

  get clicking() {
    return this.#busy !== null;
  }

  // `picture` is the site plan on the map; null where there is none.
  show(plan, picture) {
    this.#picture = picture;
    if (this.#busy && plan.base !== this.#busy.raster) this.stop();
    if (!picture) return;
    const rasters = this.bases.rasters;
    const key = rasters.map(({ id }) => id).join();
    if (key !== this.select.dataset.key) {
      this.select.dataset.key = key;
      this.select.replaceChildren(...rasters.map(({ id, name }) => h("option", { value: id }, name)));
    }
    const base = this.bases.get(picture.id);
    const ready = base.scaled && base.north !== null;
    this.element.hidden = rasters.length === 0;
    for (const control of [this.button, ...this.inputs]) control.disabled = !ready;
    say(this.words, ready ? "" : "First set the scale, and say where north points.");
    const raster = this.#raster;
    const at = ready && base.tie?.crs === raster?.route_crs ? tiedAt(base, this.#pointA(base), raster) : null;
    this.inputs.forEach((input, k) => {
      if (input !== document.activeElement) input.value = at ? plain(at[k], 2) : "";
    });
  }

  // Show the raster, and let the next click on it be point A.
  begin() {
    this.onBegin();
    this.#busy = { picture: this.#picture, raster: this.select.value, key: gestureKey() };
    this.frame.classList.add("drawing");
    this.store.edit((plan) => ({ ...plan, base: this.select.value }), { key: this.#busy.key });
    say(byId("draw-words"), "Click or tap where point A of your site plan lies on this raster.");
    reveal(byId("map"));
  }

  stop() {
    const { picture, key } = this.#busy;
    this.#busy = null;
    this.frame.classList.remove("drawing");
    this.store.edit((plan) => ({ ...plan, base: picture.id }), { key });
    this.onChange();
  }

  get #raster() {
    return this.bases.get(this.select.value);
  }

  #pointA(base) {
    return toPlan(base.sheet.placement, siteOf(this.store.plan, base.id).points[0]);
  }

  #click(latlng) {
    const { picture, key } = this.#busy;
    const at = this.yardMap.fromMap(latlng);
    this.stop();
    this.#tie(picture, at, key);
  }

  #typed() {
    const read = this.inputs.map((input) => readEntry(input.value, ""));
    this.inputs.forEach((input, k) => input.setAttribute("aria-invalid", String(Boolean(read[k].error))));
    if (read.every(({ value }) => value !== undefined))
      this.#tie(
        this.#picture,
        read.map(({ value }) => value),
        null,
      );
  }

  #tie(picture, at, key) {
    const base = this.bases.get(picture.id);
    const tie = tieAt(base, this.#pointA(base), at, this.#raster);
    this.store.edit((plan) => withSite(plan, picture, { tie }), { key });
  }
}
