// What is offered where the planner has named sources of ground: the lot and house at a click, the
// ground under what is drawn, both at a place typed as latitude and longitude. What does it comes
// with the first press.
import { ownYard } from "../../model/document/shapes.js";
import { byId, h } from "../dom.js";
import { reveal } from "../layout.js";

const IN_PLACE = /^(OGC:CRS84|EPSG:\d+)$/;

function askPlace() {
  reveal(byId("ground-place"));
  byId("named-ground").scrollIntoView({ block: "start" });
  byId("ground-place").focus({ preventScroll: true });
}

export class GroundOffer {
  #named = null;

  // `onChange` is called when clicking a lot begins or ends, `onBegin` before it begins.
  constructor(store, bases, yardMap, { onChange, onBegin }) {
    Object.assign(this, { store, bases, yardMap, onChange, onBegin });
    const elevations = bases.sources.filter(({ kind }) => kind === "elevation");
    this.offered = elevations.length > 0;
    byId("named-ground").hidden = byId("own-place").hidden = byId("own-or-place").hidden = !this.offered;
    if (!this.offered) return;
    this.lots = bases.sources.some(({ kind }) => kind === "lots");
    const names = elevations.map(({ name }) => h("option", { value: name }, name));
    byId("ground-of").append(...(names.length > 1 ? [h("option", { value: "" }, "whichever is finest there")] : []), ...names);
    byId("ground-of-field").hidden = names.length < 2;
    const press = (id, act) => byId(id).addEventListener("click", async () => act(await this.#load()));
    press("lot-click", (named) => named.begin());
    press("ground-use", (named) => named.takeUnder());
    press("ground-take", (named) => named.takePlace());
    byId("ground-place").addEventListener("keydown", async ({ key }) => key === "Enter" && (await this.#load()).takePlace());
    byId("ground-of").addEventListener("change", () => this.#name());
    byId("own-place").addEventListener("click", askPlace);
    this.#name();
  }

  get clicking() {
    return this.#named?.clicking ?? false;
  }

  stop() {
    this.#named.stop();
  }

  // A plan to start from, beside the examples.
  plans() {
    if (!this.offered) return [];
    const begin = () => {
      this.store.edit(ownYard);
      askPlace();
    };
    return [{ text: "A place by latitude and longitude", about: "Its ground, lot and house, as this planner knows them.", begin }];
  }

  show(plan) {
    if (!this.offered) return;
    const placed = IN_PLACE.test(this.bases.get(plan.base)?.route_crs);
    byId("ground-press").hidden = !placed;
    byId("lot-click").hidden = !this.lots;
    const told = byId("ground-place-told");
    if (told.dataset.base !== plan.base) told.textContent = "";
    if (this.clicking) this.#named.heed(plan);
  }

  async #load() {
    const { NamedGround } = await import("./named_ground.js");
    this.#named ??= new NamedGround(this);
    return this.#named;
  }

  #name() {
    const { value } = byId("ground-of");
    byId("ground-use").textContent = value ? `Use the ground of ${value}` : "Use the finest ground there";
  }
}
