// How a site plan lies: two points a known distance apart, its turn, its north.
/* global L */
import { placeSitePlan } from "../../api/planner.js";
import { gestureKey } from "../../model/changes/history.js";
import { levelled, placementBody, siteOf, withSite } from "../../model/document/site_plans.js";
import { toPicture, toPlan } from "../../model/geometry/placement.js";
import { readEntry, textOf } from "../../model/units/entry.js";
import { plain, unitOf } from "../../model/units/units.js";
import { byId, h, say } from "../dom.js";
import { reveal } from "../layout.js";
import { Tie } from "./georeference.js";

const SAVE_AFTER_MS = 700;
const ENDS = ["A", "B"];
const WORDS = ["Click or tap one end of a length that you know, such as a wall or the scale bar.", "Now its other end."];
const STEPS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowRight: [1, 0], ArrowLeft: [-1, 0] };

export class Site {
  #marks = [];
  #clicked = null;
  #picture = null;
  #timer = null;
  #saved = null;

  // `onChange` is called when clicking the two points begins or ends, `onBegin` before it begins.
  constructor(yardMap, store, bases, { onChange, onBegin }) {
    Object.assign(this, { yardMap, store, bases, onChange, onBegin, host: byId("site") });
    this.frame = byId("map");
    this.line = L.polyline([], { className: "scale-line", interactive: false });
    yardMap.map.on("click", (event) => this.#clicked && this.#click(event.latlng));
    this.frame.addEventListener("keydown", (event) => {
      if (this.#clicked && event.key === "Escape") this.stop();
    });
    this.tie = new Tie(yardMap, store, bases, {
      onChange,
      onBegin: () => {
        this.#clicked = null;
        onBegin();
      },
    });
    this.#build();
  }

  get clicking() {
    return this.#clicked !== null || this.tie.clicking;
  }

  // Let the next two clicks on the map be the points of the scale.
  begin() {
    this.onBegin();
    if (this.tie.clicking) this.tie.stop();
    this.#clicked = [];
    this.frame.classList.add("drawing");
    this.onChange();
    say(byId("draw-words"), `${WORDS[0]} By keys: type the points in pixels below.`);
    reveal(byId("map"));
  }

  stop() {
    if (this.tie.clicking) this.tie.stop();
    this.#clicked = null;
    this.frame.classList.remove("drawing");
    this.onChange();
  }

  show(plan) {
    this.#picture = plan.route.kind === "drawn" ? this.bases.pictureOf(plan.base) : null;
    this.host.hidden = !this.#picture;
    if (this.#clicked && !this.#picture) this.stop();
    const site = this.#picture && siteOf(plan, plan.base);
    this.#showMarks(site);
    this.tie.show(plan, this.#picture);
    if (!site) return;
    for (const [name, input] of Object.entries(this.fields)) {
      const text = textOf(site[name]);
      if (input.value !== text) input.value = text;
      const unit = name === "distance" ? unitOf("distance", plan.units) : "";
      input.setAttribute("aria-invalid", String(Boolean(readEntry(site[name], unit).error)));
    }
    this.pixels.forEach((input, i) => {
      const value = site.points[i >> 1]?.[i % 2];
      const text = value === undefined ? "" : plain(value, 1);
      if (input !== document.activeElement && input.value !== text) input.value = text;
    });
    const { scaled } = this.bases.get(plan.base);
    say(this.unit, ` (${unitOf("distance", plan.units)})`);
    say(this.standing, this.#words(site, scaled, plan.units));
    this.level.disabled = site.points.length < 2;
    this.more.hidden = false;
    this.#save(plan, site);
  }

  #words(site, scaled, units) {
    const { page, pages } = this.#picture;
    const sheet = pages > 1 ? `Page ${page} of ${pages}. ` : "";
    if (!scaled && site.points.length < 2) return `${sheet}First its scale: show two points that lie a known distance apart.`;
    if (!scaled) return `${sheet}Now say how far apart A and B are on the ground.`;
    const { placement } = this.bases.get(this.#picture.id).sheet;
    const wide = plain((placement.metresPerPixel * this.#picture.width) / (units === "us" ? 0.3048 : 1), 1);
    return (
      `${sheet}The picture is ${wide} ${unitOf("distance", units)} wide. One point a pixel off makes every length ` +
      `${plain(placement.clickErrorPercent, 2)} % wrong: the further apart A and B, the better.`
    );
  }

  #build() {
    const field = (name, label, hint) => {
      const id = `site-${name}`;
      const input = h("input", {
        id,
        inputmode: "decimal",
        autocomplete: "off",
        "aria-describedby": hint && `${id}-hint`,
        oninput: () => this.#edit({ [name]: input.value }, `site ${name}`),
      });
      this.fields[name] = input;
      return h("div", { class: "field" }, h("label", { for: id }, label), input, hint && h("p", { class: "hint", id: `${id}-hint` }, hint));
    };
    this.fields = {};
    this.unit = h("span", { class: "unit" });
    this.standing = h("p", { class: "hint", role: "status" });
    this.level = h(
      "button",
      { type: "button", id: "site-level", onclick: () => this.#edit({ turn: levelled(this.#site) }) },
      "Turn so that A–B lies straight",
    );
    this.pixels = ENDS.flatMap((end, k) =>
      ["right", "down"].map((way, j) => {
        const input = h("input", {
          id: `site-${end}-${way}`,
          inputmode: "decimal",
          autocomplete: "off",
          "aria-label": `${end}, ${way} in pixels`,
          onchange: () => this.#typed(k, j, input),
        });
        return input;
      }),
    );
    this.more = h(
      "details",
      { class: "more" },
      h("summary", null, "A and B in pixels of the picture"),
      h(
        "div",
        { class: "pair" },
        this.pixels.map((input) =>
          h("div", { class: "field" }, h("label", { for: input.id }, `${input.id.split("-")[1]}, ${input.id.split("-")[2]}`), input),
        ),
      ),
    );
    this.error = h("p", { class: "error", role: "alert", hidden: true });
    this.host.append(
      this.standing,
      h(
        "div",
        { class: "sheet-tools" },
        h("button", { type: "button", id: "site-scale", onclick: () => this.begin() }, "Show two points, A and B"),
        this.level,
      ),
      h(
        "div",
        { class: "pair three" },
        field("distance", ["From A to B", this.unit]),
        field("turn", "Turned by (°)", "Clockwise."),
        field("north", "North points (°)", "On the picture, clockwise from its upper edge."),
      ),
      this.more,
      this.tie.element,
      this.error,
    );
  }

  get #site() {
    return siteOf(this.store.plan, this.#picture.id);
  }

  #edit(change, key = null) {
    this.store.edit((plan) => withSite(plan, this.#picture, change), { key });
  }

  #typed(k, j, input) {
    const { value, error } = readEntry(input.value, "");
    input.setAttribute("aria-invalid", String(Boolean(error)));
    if (value === undefined) return;
    const points = ENDS.map((_, i) => [...(this.#site.points[i] ?? [0, 0])]);
    points[k][j] = value;
    this.#edit({ points });
  }

  #click(latlng) {
    const { placement } = this.bases.get(this.#picture.id).sheet;
    const point = toPicture(placement, this.yardMap.fromMap(latlng)).map((value) => Math.round(value * 10) / 10);
    this.#clicked.push(point);
    if (this.#clicked.length < 2) {
      say(byId("draw-words"), WORDS[1]);
      return;
    }
    const points = this.#clicked;
    this.stop();
    this.#edit({ points });
    reveal(this.fields.distance);
    this.fields.distance.focus();
  }

  #showMarks(site) {
    const points = site?.points.length === 2 ? site.points : [];
    if (this.#marks.length !== points.length) {
      for (const mark of this.#marks) mark.remove();
      this.#marks = points.map((_, i) => this.#mark(i));
    }
    if (!points.length) {
      this.line.remove();
      return;
    }
    const { placement } = this.bases.get(this.#picture.id).sheet;
    const places = points.map((point) => this.yardMap.toMap(toPlan(placement, point)));
    if (!this.held) this.#marks.forEach((mark, i) => mark.setLatLng(places[i]));
    this.line.setLatLngs(places).addTo(this.yardMap.map);
  }

  #mark(i) {
    const mark = L.marker([0, 0], {
      draggable: true,
      keyboard: true,
      autoPanOnFocus: false,
      icon: L.divIcon({ className: "thing thing-scale", iconSize: [28, 28], html: h("span", { "aria-hidden": "true" }, ENDS[i]) }),
    }).addTo(this.yardMap.map);
    mark.getElement().setAttribute("aria-label", `Scale point ${ENDS[i]}. Drag it, or move it pixel by pixel with the arrow keys.`);
    let gesture = null;
    mark.on("dragstart", () => {
      gesture = gestureKey();
    });
    mark.on("dragend", () => {
      const { placement } = this.bases.get(this.#picture.id).sheet;
      this.#move(i, toPicture(placement, this.yardMap.fromMap(mark.getLatLng())), gesture);
    });
    mark.getElement().addEventListener("keydown", (event) => {
      const step = STEPS[event.key];
      if (!step) return;
      event.preventDefault();
      event.stopPropagation();
      const [u, v] = this.#site.points[i];
      const size = event.shiftKey ? 10 : 1;
      this.#move(i, [u + step[0] * size, v + step[1] * size], `site point ${i}`);
    });
    return mark;
  }

  #move(i, point, key) {
    this.#edit({ points: this.#site.points.map((old, k) => (k === i ? point : old)) }, key);
  }

  // The planner keeps how the plan lies as well, for whoever asks it next.
  #save(plan, site) {
    const body = placementBody(this.#picture, site, plan.units);
    const asked = body && JSON.stringify([this.#picture.id, body]);
    if (!asked || asked === this.#saved) return;
    this.#saved = asked;
    const { id } = this.#picture;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(async () => {
      try {
        await placeSitePlan(id, body);
        this.error.hidden = true;
      } catch (reason) {
        this.#saved = null;
        say(this.error, `The planner did not take how the plan lies: ${reason.message}`);
        this.error.hidden = false;
      }
    }, SAVE_AFTER_MS);
  }
}
