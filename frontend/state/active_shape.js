// The shape under the hand: the one whose points can be moved on the map and in the table. What
// is chosen is no part of the plan.
import { hasShape, kindOf, MAIN, pipeLine, pointsOf, withPoints } from "../model/document/shapes.js";

export class ActiveShape {
  #id = MAIN;
  #views = [];

  // `planeOf()` answers the base's plane.
  constructor(store, planeOf) {
    Object.assign(this, { store, planeOf });
  }

  get id() {
    return hasShape(this.store.plan, this.#id) ? this.#id : MAIN;
  }

  choose(id) {
    if (id === this.#id) return;
    this.#id = id;
    for (const view of this.#views) view(id);
  }

  watch(view) {
    this.#views.push(view);
  }

  // Its points as drawn.
  get points() {
    return pointsOf(this.store.plan, this.id);
  }

  // Its points as they are to be built: a branch ends on the line that it joins.
  get shown() {
    const { id } = this;
    if (kindOf(id) !== "branch") return this.points;
    const plane = this.planeOf();
    return pipeLine(this.store.plan, id.split(":")[1], plane).map(plane.fromMetres);
  }

  // Change its points by a function of them.
  edit(change, options = {}) {
    const { id } = this;
    this.store.edit((plan) => withPoints(plan, id, change(pointsOf(plan, id))), options);
  }
}
