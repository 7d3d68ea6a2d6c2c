// Where ground that nobody measured is to be measured next, and what there would spoil a yes.
import { byId, h } from "../dom.js";

export const showToMeasure = (answer) => byId("to-measure").replaceChildren(...toMeasure(answer, "h3"));

// The heading and the list; nothing where the ground was measured.
export function toMeasure({ to_measure: places }, heading) {
  if (!places.length) return [];
  const first = places.find((place) => place.first);
  return [
    h(heading, null, first ? `Measure the ground next, first near ${first.label}` : "Measure the ground next"),
    h(
      "ul",
      { class: "to-measure" },
      places.map((place) => h("li", { class: place.first && "first" }, place.text)),
    ),
  ];
}
