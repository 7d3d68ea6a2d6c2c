// Making the changes that fix a line, in the plan as it is typed.
import { keyOf, withPatch } from "../../model/changes/conditions.js";
import { withFix } from "../../model/changes/fixes.js";
import { pathOf } from "../../model/request/request.js";
import { byId } from "../dom.js";

export class Mending {
  // `page` lends its store and map.
  constructor(page) {
    this.page = page;
  }

  // {plan, apply}: the plan with these changes of its main line, and the function that makes them; null
  // where one has no field on the page. `places` are the request's, `length` is that of the run.
  ofMain(fixes, places, length) {
    const { plane } = this.page.yardMap;
    return this.#made((plan) =>
      fixes.reduce((now, fix) => now && withFix(now, fix, { path: pathOf(fix.pointer, places), plane, length }), plan),
    );
  }

  // The same for a branch, by its name.
  ofBranch(fixes, name) {
    return this.#made((plan) => fixes.reduce((now, { patch }) => now && withPatch(now, patch, keyOf(plan, name)), plan));
  }

  #made(mended) {
    const { store } = this.page;
    const plan = mended(store.plan);
    const apply = () => {
      store.edit((now) => mended(now) ?? now);
      byId("verdict").focus({ preventScroll: true }); // the button is gone with the fix
    };
    return plan && { plan, apply };
  }
}
