// The map: a plane in metres with the base's picture, what stands in the yard, the stations.
/* global L */
import { planeOf } from "../../model/geometry/polyline.js";
import { lengthUnitM } from "../../model/units/units.js";
import { byId, h, svg } from "../dom.js";
import { featureLayers } from "./features.js";
import { TileLayer } from "./tiles.js";

const BLANK_M = 60;
const TOOLS_PX = 100;
const REFIT = 0.15; // a site plan is brought into view anew where its width changes by more
const GRID_M = { us: 10 * 0.3048, si: 2 };

export class YardMap {
  movedOn = false; // from where the base was brought into view
  #baseLayers = [];
  #stations = [];
  #crossings = [];
  #unscaled = false;
  #scale = null;
  #unseen = false; // the base was fitted to a map of no size
  #fitted = { id: null, wide: 1 };

  constructor(mark) {
    this.mark = mark;
    this.narrow = matchMedia("(max-width: 61.99rem)");
    this.map = L.map(byId("map"), {
      crs: L.CRS.Simple,
      zoomSnap: 0,
      zoomDelta: 0.5,
      minZoom: -3,
      maxZoom: 8,
      attributionControl: false,
      doubleClickZoom: false,
      fadeAnimation: false,
      zoomAnimation: !matchMedia("(prefers-reduced-motion: reduce)").matches,
    });
    this.map.createPane("base").style.zIndex = 250;
    this.map.createPane("features").style.zIndex = 350;
    this.map.createPane("labels").style.zIndex = 420;
    this.map.createPane("stations").style.zIndex = 450;
    this.map.createPane("numbers").style.zIndex = 460;
    this.map.on("dragend zoomend keydown", () => (this.movedOn = true));
    this.#addNorth();
    this.#addShowAll();
    const ring = { className: "station-ring", interactive: false, pane: "stations", radius: 13 };
    this.ring = L.circleMarker([0, 0], ring);
    this.label = L.tooltip({ direction: "top", offset: [0, -12], className: "mark-label", permanent: true });
    mark.watch(() => this.#showMark());
    new ResizeObserver(() => this.#resized()).observe(byId("map"));
  }

  // Coordinates of the base to a map position and back.
  toMap(point) {
    const [x, y] = this.plane.toMetres(point);
    return L.latLng(y, x);
  }

  fromMap({ lat, lng }) {
    return this.plane.fromMetres([lng, lat]);
  }

  // Show a base, a raster's facts or the blank sheet, its contours or grid in `units`; `features` is a
  // GeoJSON collection or null.
  setBase(base, features, units) {
    this.base = base;
    this.plane = planeOf(base);
    this.features = features;
    this.map.invalidateSize({ animate: false });
    for (const layer of this.#baseLayers) layer.remove();
    this.#baseLayers = this.#picture(base, units) ?? grid(units);
    if (features) this.#baseLayers.push(...featureLayers(features, (point) => this.toMap(point)));
    this.#unscaled = base.scaled === false;
    const north = base.relief ? 0 : (base.north ?? null);
    this.north.toggleAttribute("hidden", north === null);
    this.arrow.setAttribute("transform", `rotate(${north ?? 0} 18 16)`);
    this.north.setAttribute("aria-label", north ? `North is ${Math.round(north)}° clockwise from up` : "North is up");
    const [xmin, , xmax] = base.bounds;
    const { id, wide } = this.#fitted;
    if (id !== base.id || Math.abs(Math.log(wide / (xmax - xmin))) > REFIT) this.#fit(base);
    for (const layer of this.#baseLayers) layer.addTo(this.map);
    this.showScale(units);
  }

  #picture(base, units) {
    if (base.relief) return [this.#relief(base, units)];
    if (base.sheet) return [this.#sheet(base)];
    return base.tiles ? [new TileLayer(this, base)] : null;
  }

  #relief(base, units) {
    return L.imageOverlay(`${base.relief}?units=${units}`, this.#boundsOf(base), {
      alt: `Shaded relief with contour lines: ${base.name}`,
      className: "relief",
      pane: "base",
    });
  }

  // A site plan's picture, scaled and turned as it lies.
  #sheet(base) {
    const {
      picture,
      placement: {
        transform: [a, b, c, d, e, f],
      },
    } = base.sheet;
    const [xmin, ymin, xmax, ymax] = base.bounds;
    const drawing = svg(
      "svg",
      {
        viewBox: `${xmin} ${-ymax} ${xmax - xmin} ${ymax - ymin}`,
        preserveAspectRatio: "none",
        role: "img",
        "aria-label": `Site plan: ${base.name}`,
      },
      svg("image", {
        href: picture.picture,
        width: picture.width,
        height: picture.height,
        transform: `matrix(${a} ${-d} ${b} ${-e} ${c} ${-f})`,
      }),
    );
    return L.svgOverlay(drawing, this.#boundsOf(base), { className: "sheet-picture", pane: "base" });
  }

  #boundsOf({ bounds: [xmin, ymin, xmax, ymax] }) {
    return L.latLngBounds(this.toMap([xmin, ymin]), this.toMap([xmax, ymax]));
  }

  // The lot, where its line is known.
  #lotBounds() {
    const lot = this.features?.features.find(({ properties }) => properties.kind === "lot");
    return lot ? L.latLngBounds(lot.geometry.coordinates[0].map((point) => this.toMap(point))) : null;
  }

  // Bring the whole yard into view.
  showAll() {
    if (this.base) this.#fit(this.base);
  }

  // A base that came while the map was on a screen put away is brought into view once it is seen.
  #resized() {
    this.map.invalidateSize({ animate: false });
    if (this.#unseen && this.map.getSize().x) this.showAll();
  }

  #fit(base) {
    this.map.invalidateSize({ animate: false });
    this.#unseen = !this.map.getSize().x;
    const under = this.narrow.matches && this.map.getSize().y > 400 ? TOOLS_PX : 2; // a phone's tools lie over the top
    const room = { paddingTopLeft: [2, under], paddingBottomRight: [2, this.narrow.matches ? 30 : 2] };
    this.map.fitBounds(this.#lotBounds() ?? this.#boundsOf(base), { ...room, animate: false });
    this.#fitted = { id: base.id, wide: base.bounds[2] - base.bounds[0] };
    this.movedOn = false;
  }

  showScale(units) {
    this.#scale?.remove();
    if (this.#unscaled) return; // a bar would show a length that nobody has stated yet
    this.#scale = L.control.scale({ metric: units === "si", imperial: units === "us", maxWidth: this.narrow.matches ? 70 : 110 });
    this.#scale.addTo(this.map);
  }

  // The stations of an answer. Those without x, y (a taped run) are not on the map.
  showStations(plan, base) {
    for (const { dot } of this.#stations) dot.remove();
    const scale = base.route_crs === "local" ? lengthUnitM(plan.units) : 1;
    this.#stations = plan.stations
      .filter((station) => station.x !== null)
      .map((station) => {
        const place = this.toMap([station.x * scale, station.y * scale]);
        const { pinch, verdict } = plan.answer;
        const tight = verdict === "no" && [pinch.upstream, pinch.downstream].includes(station.at);
        const dot = L.circleMarker(place, {
          radius: 5,
          className: tight ? "station-dot bad" : "station-dot",
          pane: "stations",
        });
        dot.on("mouseover", () => this.mark.point(station.at));
        dot.on("mouseout", () => this.mark.point(null));
        dot.on("click", (event) => {
          L.DomEvent.stopPropagation(event);
          this.mark.pin(station.at);
        });
        dot.addTo(this.map);
        return { station, place, dot };
      });
    this.#showCrossings(plan);
    this.#showMark();
  }

  // What the line passes, named where it lies.
  #showCrossings({ crossings }) {
    for (const name of this.#crossings) name.remove();
    this.#crossings = crossings.flatMap(({ at, what, pass }) => {
      const shown = this.#stations.find(({ station }) => Math.abs(station.at - at) < 1e-5);
      if (!shown) return [];
      const content = h("span", null, `${what} (pass ${pass})`);
      const options = { permanent: true, direction: "right", className: "yard-label label-crossing", pane: "labels" };
      return [L.tooltip(shown.place, { ...options, content, interactive: false }).addTo(this.map)];
    });
  }

  hideStations() {
    for (const { dot } of this.#stations) dot.remove();
    this.#stations = [];
    this.#showCrossings({ crossings: [] });
    this.#showMark();
  }

  // The shown stations as {label, point} in metres.
  get stationPoints() {
    return this.#stations.map(({ station, place }) => ({ label: station.label, point: [place.lng, place.lat] }));
  }

  // The station nearest to a place, if it stands there; for marking a bend by its handle.
  stationAt(place) {
    const near = this.#stations.find((shown) => this.map.distance(shown.place, place) < 0.02);
    return near?.station.at ?? null;
  }

  #showMark() {
    const shown = this.#stations.find(({ station }) => station.at === this.mark.at);
    if (shown) {
      this.ring.setLatLng(shown.place).addTo(this.map);
      this.label
        .setLatLng(shown.place)
        .setContent(h("span", null, shown.station.label))
        .addTo(this.map);
    } else {
      this.ring.remove();
      this.label.remove();
    }
  }

  #addShowAll() {
    const control = L.control({ position: "topleft" });
    const press = h("a", { href: "#", role: "button", title: "Show the whole yard", "aria-label": "Show the whole yard" }, "All");
    control.onAdd = () => h("div", { class: "leaflet-bar show-all" }, press);
    L.DomEvent.disableClickPropagation(press);
    press.addEventListener("click", (event) => {
      event.preventDefault();
      this.showAll();
    });
    control.addTo(this.map);
  }

  #addNorth() {
    const control = L.control({ position: "topright" });
    this.arrow = svg("path", { d: "M18 3l8 22-8-5-8 5z" });
    this.north = svg(
      "svg",
      { viewBox: "0 0 36 46", width: 36, height: 46, role: "img", "aria-label": "North is up", class: "north" },
      this.arrow,
      svg("text", { x: 18, y: 43, "text-anchor": "middle" }, "N"),
    );
    control.onAdd = () => h("div", null, this.north);
    control.addTo(this.map);
  }
}

// The blank sheet's bounds and plane, in metres from its corner.
export const BLANK_BASE = {
  id: "blank",
  name: "Blank sheet",
  origin: [0, 0],
  metres_per_unit: [1, 1],
  bounds: [0, 0, BLANK_M, BLANK_M * 0.75],
  route_crs: "local",
  relief: null,
};

function grid(units) {
  const step = GRID_M[units];
  const [, , wide, tall] = BLANK_BASE.bounds;
  const options = { className: "grid-line", interactive: false, pane: "base" };
  const lines = [];
  for (let x = 0; x <= wide + 1e-6; x += step)
    lines.push(
      L.polyline(
        [
          [0, x],
          [tall, x],
        ],
        options,
      ),
    );
  for (let y = 0; y <= tall + 1e-6; y += step)
    lines.push(
      L.polyline(
        [
          [y, 0],
          [y, wide],
        ],
        options,
      ),
    );
  return lines;
}
