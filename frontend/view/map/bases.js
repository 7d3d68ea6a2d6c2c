// What a line can be drawn on: the rasters and site plans that the planner keeps, a blank sheet.

import { fetchPageSettings, fetchRasters, fetchSitePlans, fetchSources, uploadRaster, uploadSitePlan } from "../../api/planner.js";
import { BLANK, lineOf, withGround, withLine } from "../../model/document/document.js";
import { offBase, onBase, partedFrom } from "../../model/document/shapes.js";
import { carryBetween, keptSite, siteBase } from "../../model/document/site_plans.js";
import { readPlace, tileBase } from "../../model/geometry/tile_grid.js";
import { toldApart } from "../../model/wording/uploads.js";
import { byId, h } from "../dom.js";
import { BLANK_BASE } from "./map.js";

const TILES = "tiles";
const IS_RASTER = /\.tiff?$/i;

export class Bases {
  beforeChange = () => {}; // called before another base comes under the map
  #known = new Map([[BLANK, BLANK_BASE]]);
  #pictures = new Map();
  #laid = { key: null, base: null };
  #tiled = { key: null, base: null };

  constructor(store) {
    this.store = store;
    this.select = byId("base");
    this.select.addEventListener("change", () => this.choose(this.select.value));
    byId("place-go").addEventListener("click", () => this.#goTo(byId("place").value));
    const addRaster = async (file) => {
      const raster = await uploadRaster(file);
      this.#keep(raster);
      return (plan) => partedFrom(plan, { ...plan, base: raster.id, ground: "raster", route: { ...plan.route, kind: "drawn" } });
    };
    const addPicture = async (file) => {
      const picture = await uploadSitePlan(file, byId("site-page").value.trim());
      this.#pictures.set(picture.id, picture);
      return (plan) => partedFrom(plan, this.#onSite(plan, picture));
    };
    this.#take(byId("raster-file"), addRaster);
    this.#take(byId("site-file"), addPicture);
    this.#take(byId("own-file"), (file) => (IS_RASTER.test(file.name) || file.type === "image/tiff" ? addRaster : addPicture)(file));
  }

  async load() {
    const sources = fetchSources().catch(() => []); // without an answer none is offered
    const [{ tiles }] = await Promise.all([fetchPageSettings(), this.lookAgain()]);
    [this.tiles, this.sources] = [tiles, await sources];
    byId("tiles-place").hidden = !tiles;
    this.#list();
  }

  // Take up what the planner keeps by now, for instance with a job that was brought back.
  async lookAgain() {
    const [rasters, plans] = await Promise.all([fetchRasters(), fetchSitePlans()]);
    for (const raster of rasters) if (!this.#known.has(raster.id)) this.#keep(raster);
    for (const picture of plans) if (!this.#pictures.has(picture.id)) this.#pictures.set(picture.id, picture);
    this.#list();
  }

  get(id) {
    if (id === TILES) return this.#around();
    const picture = this.#pictures.get(id);
    return picture ? this.#lay(picture) : (this.#known.get(id) ?? null);
  }

  has(id) {
    return this.#known.has(id) || this.#pictures.has(id) || (id === TILES && this.#around() !== null);
  }

  // The facts of a site plan; null for any other base.
  pictureOf(id) {
    return this.#pictures.get(id) ?? null;
  }

  // What stands in the yard that a plan is drawn on, as far as it is known: the demo's.
  featuresOf(plan, demo) {
    return plan.base === demo.raster ? demo.features : null;
  }

  // The online map around the plan's place; null without a source or a place.
  #around() {
    const place = this.tiles && readPlace(this.store.plan?.place ?? "");
    const key = place?.join();
    if (place && this.#tiled.key !== key) this.#tiled = { key, base: tileBase(this.tiles, place) };
    return place ? this.#tiled.base : null;
  }

  // Draw on the online map around a place typed as latitude and longitude.
  #goTo(text) {
    const wrong = !readPlace(text);
    byId("place").setAttribute("aria-invalid", String(wrong));
    byId("place-error").hidden = !wrong;
    if (wrong) return;
    this.store.edit((plan) => ({ ...plan, place: text.trim() }));
    this.#list();
    this.choose(TILES);
  }

  get rasters() {
    return this.uploads.filter(({ isPicture }) => !isPicture);
  }

  // The files that the planner keeps, the newest first, by names that tell them apart.
  get uploads() {
    const files = [...this.#pictures.values(), ...[...this.#known.values()].filter(({ relief }) => relief)];
    const names = toldApart(files);
    return files
      .map((file) => ({ ...file, name: names.get(file.id), isPicture: this.#pictures.has(file.id) }))
      .sort((a, b) => b.uploaded_at.localeCompare(a.uploaded_at));
  }

  // A file is gone: every plan that lies on it goes to a blank sheet, also those that undo brings back.
  forget(id) {
    this.#known.delete(id);
    this.#pictures.delete(id);
    this.store.rewrite((plan) => (plan.base === id ? offBase(plan) : plan));
    this.#list();
  }

  // A plan kept before, on a blank sheet where its base is gone by now.
  onKnown(plan) {
    return this.has(plan.base) ? plan : offBase(plan);
  }

  // Draw on another base, and take along what is drawn where both are placed and it fits.
  choose(id) {
    this.beforeChange();
    this.store.edit((plan) => {
      const picture = this.#pictures.get(id);
      const measured = id === TILES && plan.ground === "raster" ? withGround(plan, "level_line") : plan;
      const next = this.moved(measured, id);
      return picture ? this.#onSite(next, picture) : next;
    });
  }

  // The plan on another base, with what is drawn where that can be carried over and fits.
  moved(plan, id, by = null) {
    const to = this.get(id);
    const carry = by ?? this.carry(plan.base, id);
    const fits = carry && lineOf(plan).every((point) => inside(to.bounds, carry(point)));
    const next = { ...onBase(plan, id, fits ? carry : null), route: { ...plan.route, kind: "drawn" } };
    return fits ? next : partedFrom(plan, next);
  }

  // What turns a point of one base into one of another; null where they are not both placed.
  carry(from, to) {
    return this.get(from) && carryBetween(this.get(from), this.get(to));
  }

  // A site plan tells nothing of heights, so readings take the place of a raster.
  #onSite(plan, picture) {
    const measured = plan.ground === "raster" ? withGround(plan, "level_line") : plan;
    const site = plan.sites[picture.id] ?? keptSite(picture, plan.units);
    return {
      ...measured,
      base: picture.id,
      route: { ...measured.route, kind: "drawn" },
      sites: { ...plan.sites, [picture.id]: site },
    };
  }

  // The site plan as a base, the same object as long as it lies the same.
  #lay(picture) {
    const { plan } = this.store;
    const site = plan?.sites[picture.id] ?? keptSite(picture, plan?.units ?? "us");
    const key = JSON.stringify([picture.id, site, plan?.units]);
    if (this.#laid.key !== key) this.#laid = { key, base: siteBase(picture, site, plan?.units ?? "us") };
    return this.#laid.base;
  }

  show(plan) {
    if (byId("place") !== document.activeElement) byId("place").value = plan.place;
    if (plan.base === TILES && !this.select.querySelector("[value=tiles]")) this.#list();
    this.select.value = plan.base;
  }

  // A raster that the planner has just kept, as a base.
  keep(raster) {
    this.#keep(raster);
    this.#list();
    return this.#known.get(raster.id);
  }

  #keep(raster) {
    const [xmin, ymin] = raster.bounds;
    this.#known.set(raster.id, {
      ...raster,
      origin: [xmin, ymin],
      route_crs: raster.geographic ? "OGC:CRS84" : raster.crs,
    });
  }

  #list() {
    const online = this.has(TILES) ? [this.get(TILES)] : [];
    const bases = [...online, ...this.uploads, this.#known.get(BLANK)];
    this.select.replaceChildren(...bases.map(({ id, name }) => h("option", { value: id }, name)));
    if (this.store.plan) this.show(this.store.plan);
  }

  // Take up a file: `add(file)` sends it and answers the change of the plan, or throws the reason.
  #take(input, add) {
    const error = h("p", { class: "error", id: `${input.id}-error`, role: "alert", hidden: true });
    const sending = h("p", { class: "hint", role: "status" });
    input.after(error, sending);
    input.addEventListener("change", async () => {
      const [file] = input.files;
      if (!file) return;
      error.hidden = true;
      input.disabled = true;
      sending.textContent = `Reading ${file.name}…`;
      try {
        const change = await add(file);
        this.#list();
        this.beforeChange();
        this.store.edit(change);
      } catch (reason) {
        error.textContent = reason.message;
        error.hidden = false;
      }
      sending.textContent = "";
      input.disabled = false;
      input.value = "";
    });
  }
}

// The plan on a base that is there: where its own is gone, the demo yard's, with the plan's line
// if that lies on it.
export function onKnownBase(plan, bases, demo) {
  if (bases.has(plan.base)) return plan;
  const base = bases.get(demo.raster);
  if (!base) return { ...plan, base: BLANK };
  const line = lineOf(plan);
  const fits = line.length > 1 && line.every((point) => inside(base.bounds, point));
  return withLine({ ...plan, base: base.id }, fits ? line : demo.routes.works.line.coordinates);
}

const inside = ([xmin, ymin, xmax, ymax], [x, y]) => x >= xmin && x <= xmax && y >= ymin && y <= ymax;
