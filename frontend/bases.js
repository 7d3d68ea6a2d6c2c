// What a line can be drawn on: the rasters that the planner keeps, and a blank sheet.
import { BLANK, lineOf, withLine } from "./sums/document.js";
import { fetchRasters, uploadRaster } from "./service.js";
import { BLANK_BASE } from "./view/map.js";
import { byId, h } from "./view/element.js";

export class Bases {
  #known = new Map([[BLANK, BLANK_BASE]]);

  constructor(store) {
    this.store = store;
    this.select = byId("base");
    this.file = byId("raster-file");
    this.error = h("p", { class: "error", id: "raster-file-error", role: "alert", hidden: true });
    this.file.after(this.error);
    this.select.addEventListener("change", () => {
      store.edit((plan) => ({ ...plan, base: this.select.value }));
    });
    this.file.addEventListener("change", () => this.#upload());
  }

  async load() {
    for (const raster of await fetchRasters()) this.#take(raster);
    this.#list();
  }

  get(id) {
    return this.#known.get(id) ?? null;
  }

  has(id) {
    return this.#known.has(id);
  }

  show(plan) {
    this.select.value = plan.base;
  }

  #take(raster) {
    const [xmin, ymin] = raster.bounds;
    this.#known.set(raster.id, {
      ...raster,
      origin: [xmin, ymin],
      route_crs: raster.geographic ? "OGC:CRS84" : raster.crs,
    });
  }

  #list() {
    this.select.replaceChildren(...[...this.#known.values()].reverse().map(({ id, name }) =>
      h("option", { value: id }, name)));
    if (this.store.plan) this.show(this.store.plan);
  }

  async #upload() {
    const [file] = this.file.files;
    if (!file) return;
    this.error.hidden = true;
    this.file.disabled = true;
    try {
      const raster = await uploadRaster(file);
      this.#take(raster);
      this.#list();
      this.store.edit((plan) => ({
        ...plan, base: raster.id, ground: "raster", route: { ...plan.route, kind: "drawn" },
      }));
    } catch (error) {
      this.error.textContent = error.message;
      this.error.hidden = false;
    }
    this.file.disabled = false;
    this.file.value = "";
  }
}

// The plan on a base that is there: where its own is gone, the demo yard's, with the plan's line
// if that lies on it.
export function onKnownBase(plan, bases, demo) {
  if (bases.has(plan.base)) return plan;
  const base = bases.get(demo.raster);
  if (!base) return { ...plan, base: BLANK };
  const [xmin, ymin, xmax, ymax] = base.bounds;
  const inside = ([x, y]) => x >= xmin && x <= xmax && y >= ymin && y <= ymax;
  const line = lineOf(plan);
  const fits = line.length > 1 && line.every(inside);
  return withLine({ ...plan, base: base.id }, fits ? line : demo.routes.works.line.coordinates);
}
