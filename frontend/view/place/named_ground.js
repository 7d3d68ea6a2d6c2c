// Takes the ground of a source that whoever runs the planner named: with the lot and the house at a
// click or at a place, or under what is drawn. The part that is used is kept with the plan's other
// files, so it stays when the source is gone.
import { fetchGround, fetchLot, keepWindow } from "../../api/ground.js";
import { lineOf } from "../../model/document/document.js";
import { georeferenceOf } from "../../model/document/georeference.js";
import { HeldLots, sameLot } from "../../model/document/held_lots.js";
import { beginsOn, byCorners, groundAround, withDrawn, withLot } from "../../model/document/lot.js";
import { onBase, outlinesOf, pointsOf, shapesOf } from "../../model/document/shapes.js";
import { metresPerDegree, readPlace } from "../../model/geometry/tile_grid.js";
import { partAbout } from "../../model/geometry/view_part.js";
import { heeded } from "../../model/request/reach.js";
import { byId, say } from "../dom.js";
import { reveal } from "../layout.js";

const DEGREES = "OGC:CRS84";
const BY_KEYS = matchMedia("(pointer: coarse)").matches ? "" : " By keys: give its latitude and longitude among the entries.";
const CLICK = `Click or tap in the lot that the pipe runs on.${BY_KEYS}`;
const TAKING = "Taking the ground…";
const NO_PLACE = "Give latitude and longitude in degrees, as in 41.7508, -83.1032.";
const NO_GROUND = "No source of this planner has ground there.";
const NOT_THAT = "has no ground there. Take another source of ground, or another place.";
const UNTIED = "The raster that tells where this site plan lies is gone. Say anew where it lies, by another raster.";
const NO_LOT = "No lot is known there. Click or tap in another, or cancel and draw the lot line yourself.";

export class NamedGround {
  clicking = false;
  #base = null;
  #asked = 0; // an answer to what was asked before is no longer wanted
  #held = new HeldLots();

  constructor({ store, bases, yardMap, demo, onChange, onBegin }) {
    Object.assign(this, { store, bases, yardMap, demo, onChange, onBegin, frame: byId("map") });
    yardMap.map.on("click", (event) => this.clicking && this.#click(event.latlng));
    this.frame.addEventListener("keydown", (event) => this.clicking && event.key === "Escape" && this.stop());
  }

  // Let the next click on the map say which lot.
  begin() {
    this.onBegin();
    this.clicking = true;
    this.#base = this.store.plan.base;
    this.frame.classList.add("drawing");
    this.onChange();
    say(byId("draw-words"), CLICK);
    reveal(byId("map"));
    this.frame.focus({ preventScroll: true });
  }

  stop() {
    this.clicking = false;
    this.#asked += 1;
    this.frame.classList.remove("drawing");
    this.onChange();
  }

  // Another base came under the map: what is clicked would be elsewhere.
  heed(plan) {
    if (plan.base !== this.#base) this.stop();
  }

  async #click(latlng) {
    const tell = (text) => say(byId("draw-words"), text);
    const find = () => {
      const { to, crs } = this.#placed;
      return this.#around({ at: to(this.yardMap.fromMap(latlng)), crs }, { onLot: true });
    };
    await this.#take(find, tell, tell);
  }

  async takePlace() {
    const at = readPlace(byId("ground-place").value);
    this.#refuse(at ? "" : NO_PLACE);
    if (at) await this.#take(() => this.#around({ at, crs: DEGREES }, { onLot: false }));
  }

  async takeUnder() {
    await this.#take(() => this.#under());
  }

  // Take what `find()` answers onto the plan; `tell` and `refuse` say what goes on, and why not.
  async #take(find, tell = (text) => this.#tell(text), refuse = (text) => this.#refuse(text)) {
    this.#asked += 1;
    const asked = this.#asked;
    this.#refuse("");
    tell(TAKING);
    this.#wait(true);
    try {
      const taken = await find();
      if (asked === this.#asked) this.#lay(taken);
    } catch (reason) {
      if (asked === this.#asked) {
        tell("");
        refuse(reason.message);
      }
    }
    this.#wait(false);
  }

  // How the base under the map lies. Throws where that is not known any more.
  get #placed() {
    const placed = georeferenceOf(this.#here, this.bases.rasters);
    if (!placed) throw new Error(UNTIED);
    return placed;
  }

  get #here() {
    return this.bases.get(this.store.plan.base);
  }

  // {base, features, source, by}: the ground around the lot at a place; around the place itself where no
  // lot is known, unless it is to be on one. Throws with the reason.
  async #around(place, { onLot }) {
    const name = byId("ground-of").value;
    const held = this.#held.at(place, name, performance.now());
    if (held && this.bases.has(held.taken.base.id)) {
      this.#makeSure(held, place);
      return { ...held.taken, by: await this.#onto(held.taken.base) };
    }
    const [here, lot] = await Promise.all([this.#groundAt(place), fetchLot(place)]);
    if (onLot && !lot.features.length) throw new Error(NO_LOT);
    const { source } = this.#chosen(here.ground);
    const about = lot.bounds ?? [here.lon, here.lat, here.lon, here.lat];
    const bounds = groundAround(about, metresPerDegree(about[1]));
    const base = this.bases.keep(await keepWindow(source.name, bounds, DEGREES));
    const its = { at: [here.lon, here.lat], crs: DEGREES };
    const known = base.route_crs === place.crs || !lot.features.length;
    const [features, by] = await Promise.all([
      known ? lot.features : fetchLot(its, base.route_crs).then((found) => found.features),
      this.#onto(base),
    ]);
    this.#held.put(lot.features, place.crs, name, { base, features, source }, performance.now());
    return { base, features, source, by };
  }

  // A lot had before is taken at once; where another is there by now, or a smaller one within, that is
  // taken in its place.
  async #makeSure({ lot, taken }, place) {
    const asked = this.#asked;
    const found = await fetchLot(place).catch(() => null); // the planner is away
    if (!found || sameLot(found.features, lot)) return;
    this.#held.drop(lot);
    const stays = asked === this.#asked && this.store.plan.base === taken.base.id;
    if (stays && found.features.length) await this.#take(() => this.#around(place, { onLot: true }));
  }

  // The same under what is drawn, or else under the middle of the map's base; no lot is taken.
  async #under() {
    const { crs, size, to } = this.#placed;
    const drawn = [...lineOf(this.store.plan), ...outlinesOf(this.store.plan).lot];
    const [xmin, ymin, xmax, ymax] = this.#here.bounds;
    const whole = [xmin, xmax].flatMap((x) => [ymin, ymax].map((y) => [x, y]));
    const [west, south, east, north] = partAbout((drawn.length ? drawn : whole).map(to));
    const at = [(west + east) / 2, (south + north) / 2];
    const { source } = this.#chosen((await this.#groundAt({ at, crs })).ground);
    const bounds = groundAround(drawn.length ? [west, south, east, north] : [...at, ...at], size);
    const base = this.bases.keep(await keepWindow(source.name, bounds, crs));
    return { base, features: null, source, by: await this.#onto(base) };
  }

  // What carries what is drawn in degrees onto a base in a projected system; null where that is not
  // what there is to carry.
  async #onto({ route_crs: crs, bounds: [west, south, east, north] }) {
    if (this.#here.route_crs !== DEGREES || crs === DEGREES || !this.#anyDrawn) return null;
    const corners = [
      [west, south],
      [east, south],
      [west, north],
    ];
    const found = await Promise.all(corners.map((at) => this.#groundAt({ at, crs })));
    return byCorners(
      found.map(({ lon, lat }) => [lon, lat]),
      corners,
    );
  }

  get #anyDrawn() {
    const { plan } = this.store;
    return shapesOf(plan).some(({ id }) => pointsOf(plan, id).length > 0);
  }

  #groundAt(place) {
    return fetchGround(place, this.store.plan.units);
  }

  // Of the ground at a place that of the source chosen, or else the finest. Throws without one.
  #chosen(found) {
    const { value: name, options } = byId("ground-of");
    const its = found.filter(({ source }) => !name || options.length === 1 || source.name === name);
    const ground = its.find(({ elevation }) => elevation !== null);
    if (ground) return ground;
    const problem = its.find((one) => one.problem)?.problem;
    throw new Error(problem ?? (found.length && name ? `${name} ${NOT_THAT}` : NO_GROUND));
  }

  #lay({ base, features, source, by }) {
    this.clicking = false; // the change below shows that too: nothing is drawn twice
    this.frame.classList.remove("drawing");
    this.bases.beforeChange();
    const before = this.store.plan;
    const from = this.#here?.name ?? "";
    let left = [];
    this.store.edit((plan) => {
      const moved = plan.base === base.id ? plan : this.bases.moved(plan, base.id, by);
      const next = features === null || beginsOn(moved, features) ? moved : onBase(plan, base.id, null);
      const drawn = withDrawn(plan, next, by ?? this.bases.carry(plan.base, base.id), base);
      left = drawn.left;
      return withLot({ ...drawn.plan, ground: "raster", route: { ...plan.route, kind: "drawn" } }, features ?? []);
    });
    const leftWords = this.#leftWords(before, left, from);
    this.#tell([leftWords, this.#drawnWords(features), source.text].filter(Boolean).join(" "));
    if (leftWords) reveal(byId("ground-place-told"));
  }

  // What is no longer kept out of, by name: drawn on the base before, or known of the demo's yard alone.
  #leftWords(before, left, from) {
    const known = before.base === this.store.plan.base ? [] : heeded(before, this.bases.featuresOf(before, this.demo));
    const drawn = outlinesOf(this.store.plan).avoid.map(({ name }) => name); // the source's house, in place of the demo's
    const names = [...left, ...known.filter(({ within, name }) => !within && !drawn.includes(name)).map(({ name }) => name)];
    if (!names.length) return "";
    return `Left behind on “${from}”: ${names.join(", ")}. Draw here what the pipe must keep out of. Undo brings all back.`;
  }

  #drawnWords(features) {
    if (features?.length) return "The lot line and what stands on it are drawn.";
    if (features) return "No lot is known there: draw its line yourself.";
    const stays = !lineOf(this.store.plan).length;
    return stays ? "What you drew stays on the base it was drawn on: choose that to see it again." : "";
  }

  #wait(busy) {
    for (const id of ["ground-take", "ground-use"]) byId(id).disabled = busy;
  }

  // What is told holds for the base that is under the map now.
  #tell(text) {
    byId("ground-place-told").textContent = text;
    byId("ground-place-told").dataset.base = this.store.plan.base;
  }

  #refuse(text) {
    byId("ground-place").setAttribute("aria-invalid", String(text !== ""));
    byId("ground-place-error").textContent = text;
    byId("ground-place-error").hidden = text === "";
  }
}
