// Where ground that nobody measured is to be measured next, and what there would spoil a yes.
import { byId, h } from "./element.js";

export function showToMeasure({ to_measure: places = [] }) {
  const [first] = places.filter((place) => place.first);
  byId("to-measure").replaceChildren(...(places.length ? [
    h("h3", null, first ? `Measure the ground next, first near ${first.label}` : "Measure the ground next"),
    h("ul", { class: "to-measure" }, places.map((place) => h("li", { class: place.first && "first" }, place.text))),
  ] : []));
}
