// Contours and shading of a named source for what is in view: asked for once the map rests, one
// question at a time, and shown again without asking where they were drawn before.
/* global L */
import { fetchGround, fetchRelief } from "../../api/ground.js";
import { georeferenceOf } from "../../model/document/georeference.js";
import { covers, grown, laid, longSideM, meets, partAbout } from "../../model/geometry/view_part.js";
import { byId, h, say, svg } from "../dom.js";

const PAUSE_MS = 250;
const FURTHEST_M = 600; // of the view's longer side: further out nothing is asked
const BESIDE = 0.2; // of the view to each side of it, so that a small move asks for nothing
const COARSEST = 2.5; // a picture so many times as wide as the view is drawn anew
const MOST_KEPT = 12;
const ZOOM_IN = "Zoom in to see the ground.";
const HIDE = "Hide the ground on the map";
const SHOW = "Show the ground on the map";
const HOLE = "No source of this planner has ground here.";

export class GroundView {
  #kept = []; // {key, part, layer, url, text}, the one used last first
  #shown = null;
  #timer = 0;
  #asking = false;
  #failed = ""; // where there was no answer: not asked again until the view is another

  constructor(offer) {
    const { store, bases, yardMap } = offer;
    Object.assign(this, { offer, store, bases, yardMap });
    this.press = h("button", { type: "button", id: "ground-hide", onclick: () => this.#turn() }, HIDE);
    byId("ground-press").append(this.press);
    this.words = h("p", { class: "tile-credit", id: "ground-credit", role: "status" });
    this.words.style.maxWidth = "62vw"; // a phone has other things in the other corner
    const control = L.control({ position: "bottomright" });
    control.onAdd = () => this.words;
    control.addTo(yardMap.map);
  }

  // Show what is in view, or see to it that it comes.
  look() {
    clearTimeout(this.#timer);
    const view = this.#view();
    this.press.hidden = !view;
    if (!view || this.press.textContent === SHOW) return this.#show(null, "");
    if (longSideM(view.part, view.size) > FURTHEST_M) return this.#show(this.#shown, ZOOM_IN);
    const kept = this.#kept.find((one) => this.#serves(one, view));
    if (kept) return this.#show(kept, kept.text);
    if (this.#failed === view.id) return null;
    this.#timer = setTimeout(() => this.#ask(), PAUSE_MS);
    return null;
  }

  #turn() {
    say(this.press, this.press.textContent === SHOW ? HIDE : SHOW);
    this.look();
  }

  // What is in view of a base that lies somewhere; null where there is none, or its own ground fills it.
  #view() {
    const { plan } = this.store;
    const base = this.bases.get(plan.base);
    const placed = georeferenceOf(base, this.bases.rasters);
    if (this.#shown && this.#shown.base !== plan.base) this.#show(null, "");
    if (!placed || base !== this.yardMap.base || !this.yardMap.map.getSize().x) return null;
    const seen = this.yardMap.map.getBounds();
    const corners = [seen.getSouthWest(), seen.getSouthEast(), seen.getNorthEast(), seen.getNorthWest()];
    const part = partAbout(corners.map((corner) => placed.to(this.yardMap.fromMap(corner))));
    if (base.relief && (!this.yardMap.movedOn || covers(base.bounds, part))) return null;
    if (placed.crs === "OGC:CRS84" && !this.offer.elevations.some(({ bounds }) => meets(bounds, part))) return null;
    const key = JSON.stringify([plan.base, base.tie ?? 0, base.north ?? 0, plan.units, byId("ground-of").value]);
    return { ...placed, part, key, id: key + part.join(), base, units: plan.units };
  }

  #serves({ key, part }, view) {
    return key === view.key && covers(part, view.part) && longSideM(part, view.size) <= COARSEST * longSideM(view.part, view.size);
  }

  async #ask() {
    if (this.#asking) return; // it looks again when it is answered
    const view = this.#view();
    if (!view) return;
    this.#asking = true;
    try {
      const name = await this.#nameIn(view);
      const part = grown(view.part, BESIDE);
      this.#keep(view, name, part, await fetchRelief(name, part, view.crs, view.units));
    } catch (reason) {
      this.#failed = view.id;
      // Beside a raster ground is a bonus; a planner that is away is told of elsewhere.
      const told = reason.status === undefined || (view.base.relief && reason.status === 422) ? "" : reason.message;
      this.#show(null, told);
    }
    this.#asking = false;
    this.look();
  }

  // Of several sources the one chosen, or else the one whose ground is finest in the middle.
  async #nameIn({ part: [west, south, east, north], crs, units }) {
    const { value, options } = byId("ground-of");
    if (value || options.length === 1) return value || options[0].value;
    const { ground } = await fetchGround({ at: [(west + east) / 2, (south + north) / 2], crs }, units);
    const found = ground.find(({ elevation }) => elevation !== null) ?? ground[0];
    if (!found) throw Object.assign(new Error(HOLE), { status: 422 });
    return found.source.name;
  }

  #keep({ key, base, from }, name, part, { picture, between }) {
    const { date = "", licence = "" } = this.offer.elevations.find((source) => source.name === name) ?? {};
    const url = URL.createObjectURL(picture);
    const every = between ? `, contours every ${between}` : "";
    const text = `Ground: ${[name, date].filter(Boolean).join(", ")}${every}.${licence && ` License: ${licence}`}`;
    this.#kept.unshift({ key, base: base.id, part, url, text, layer: this.#layer(base, name, part, url, from) });
    for (const one of this.#kept.splice(MOST_KEPT)) URL.revokeObjectURL(one.url);
  }

  #layer(base, name, part, url, from) {
    const place = (point) => this.yardMap.plane.toMetres(from(point));
    const {
      part: [xmin, ymin, xmax, ymax],
      matrix,
    } = laid(part, place);
    const image = svg("image", { href: url, width: 1, height: 1, preserveAspectRatio: "none", transform: `matrix(${matrix})` });
    const picture = svg(
      "svg",
      {
        viewBox: `${xmin} ${-ymax} ${xmax - xmin} ${ymax - ymin}`,
        preserveAspectRatio: "none",
        role: "img",
        "aria-label": `Shaded relief with contour lines: ${name}`,
      },
      image,
    );
    const bounds = L.latLngBounds(L.latLng(ymin, xmin), L.latLng(ymax, xmax));
    const layer = L.svgOverlay(picture, bounds, { className: "ground-view", pane: "base", zIndex: base.relief ? 0 : 2 });
    if (!base.relief) picture.style.mixBlendMode = "multiply";
    return layer;
  }

  #show(kept, text) {
    if (this.#shown !== kept) {
      this.#shown?.layer.remove();
      kept?.layer.addTo(this.yardMap.map);
    }
    this.#shown = kept;
    if (kept) this.#kept = [kept, ...this.#kept.filter((one) => one !== kept)];
    this.words.hidden = text === "";
    say(this.words, text);
    return null;
  }
}
