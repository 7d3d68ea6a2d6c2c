// What is offered where the planner has named sources of ground. What does it comes when it is first
// needed: named_ground takes it onto the plan, ground_view shows it.
import { ownYard } from "../../model/document/shapes.js";
import { byId, h } from "../dom.js";
import { reveal } from "../layout.js";

const IN_PLACE = /^(OGC:CRS84|EPSG:)/;

// On the earth.
const lies = (base) => IN_PLACE.test(base?.route_crs) || (base?.tie && base.north !== null);

function askPlace() {
  reveal(byId("ground-place"));
  byId("named-ground").scrollIntoView({ block: "start" });
  byId("ground-place").focus({ preventScroll: true });
}

export class GroundOffer {
  #named = null;
  #view = null;

  // `onChange` is called when clicking a lot begins or ends, `onBegin` before it begins.
  constructor(store, bases, yardMap, demo, { onChange, onBegin }) {
    Object.assign(this, { store, bases, yardMap, demo, onChange, onBegin });
    const elevations = bases.sources.filter(({ kind }) => kind === "elevation");
    this.elevations = elevations;
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
    yardMap.map.on("moveend", () => this.#look());
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
    byId("ground-press").hidden = !lies(this.bases.get(plan.base));
    byId("lot-click").hidden = !this.lots;
    const told = byId("ground-place-told");
    if (told.dataset.base !== plan.base) told.textContent = "";
    if (this.clicking) this.#named.heed(plan);
    this.#look();
  }

  async #load() {
    const { NamedGround } = await import("./named_ground.js");
    this.#named ??= new NamedGround(this);
    return this.#named;
  }

  // A raster shows its own ground.
  async #look() {
    await null; // a base that is being brought into view is there by then
    const base = this.bases.get(this.store.plan?.base);
    if (!this.#view && (!lies(base) || (base.relief && !this.yardMap.movedOn))) return;
    this.#view ??= import("./ground_view.js").then(
      ({ GroundView }) => new GroundView(this),
      () => (this.#view = null), // the planner is away
    );
    (await this.#view)?.look();
  }

  #name() {
    const { value, options } = byId("ground-of");
    byId("ground-use").textContent = value && options.length > 1 ? `Use the ground of ${value}` : "Use the finest ground there";
    if (this.store.plan) this.#look();
  }
}
