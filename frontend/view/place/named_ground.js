// "Take them": the ground of a source that whoever runs the planner named, with the lot and the
// house at a place. The part that is used is kept with the plan's other files, so it stays when the
// source is gone.
import { fetchGround, fetchLot, fetchSources, keepWindow } from "../../api/planner.js";
import { groundAround, withLot } from "../../model/document/lot.js";
import { onBase } from "../../model/document/shapes.js";
import { metresPerDegree, readPlace } from "../../model/geometry/tile_grid.js";
import { byId } from "../dom.js";

const NO_PLACE = "Give latitude and longitude in degrees, as in 41.7508, -83.1032.";
const NO_GROUND = "No source of this planner has ground there.";

export class NamedGround {
  constructor(store, bases) {
    this.store = store;
    this.bases = bases;
    this.field = byId("ground-place");
    this.button = byId("ground-take");
    this.button.addEventListener("click", () => this.#take());
    this.field.addEventListener("keydown", ({ key }) => key === "Enter" && this.#take());
  }

  // Offered where the planner has a source of elevations; without an answer nothing is.
  async load() {
    const sources = await fetchSources().catch(() => []);
    byId("named-ground").hidden = !sources.some(({ kind }) => kind === "elevation");
  }

  async #take() {
    const place = readPlace(this.field.value);
    this.#refuse(place ? "" : NO_PLACE);
    if (!place || this.button.disabled) return;
    this.button.disabled = true;
    this.#tell("Taking the ground…");
    try {
      this.#lay(await this.#around(place));
    } catch (reason) {
      this.#tell("");
      this.#refuse(reason.message);
    }
    this.button.disabled = false;
  }

  // {raster, features, source} around a place. Throws with the reason.
  async #around(place) {
    const [found, lot] = await Promise.all([fetchGround(place, this.store.plan.units), fetchLot(place, "OGC:CRS84")]);
    const ground = found.find(({ elevation }) => elevation !== null);
    if (!ground) throw new Error(found.find(({ problem }) => problem)?.problem ?? NO_GROUND);
    const bounds = groundAround(place, lot, metresPerDegree(place[1]));
    const raster = await keepWindow(ground.source.name, bounds);
    const base = this.bases.keep(raster);
    const features = lot.length ? await fetchLot(place, base.route_crs) : [];
    return { base, features, source: ground.source };
  }

  #lay({ base, features, source }) {
    this.bases.beforeChange();
    this.store.edit((plan) => {
      const next = { ...onBase(plan, base.id, null), ground: "raster", route: { ...plan.route, kind: "drawn" } };
      return withLot(next, features);
    });
    const drawn = features.length ? "The lot line and what stands on it are drawn." : "No lot is known there: draw its line yourself.";
    this.#tell(`${source.text} ${drawn}`);
  }

  #tell(text) {
    byId("ground-place-told").textContent = text;
  }

  #refuse(text) {
    this.field.setAttribute("aria-invalid", String(text !== ""));
    byId("ground-place-error").textContent = text;
    byId("ground-place-error").hidden = text === "";
  }
}
