// The figures of the sentence: each can be pressed and leads to where it comes from.
import { byId, h } from "../dom.js";
import { bringUp, reveal } from "../layout.js";

const STATION = String.raw`\d+\+\d+(?:\.\d+)?`;
const FIGURE = new RegExp(String.raw`(${STATION}|\d[\d.,]*(?:(?: \d+)?/\d+)? (?:in|ft|mm|m|%)(?![\w²³]))`);
const POINTED = "pointed";

// A sentence as nodes: words, and a button for each figure in it.
export function withFigures(sentence, press) {
  return sentence
    .split(FIGURE)
    .map((part, i) =>
      i % 2
        ? h("button", { type: "button", class: "figure-press", title: "Where this comes from", onclick: () => press(part) }, part)
        : part,
    );
}

// Bring up what a figure comes from: a station of the table, a condition, a fact behind the answer, or
// else the reason. `pin(at)` marks a station.
export function pointOut(figure, { stations }, pin) {
  const station = stations.find(({ label }) => label === figure);
  if (station) {
    bringUp("stations");
    pin(station.at);
    return;
  }
  const holds = (element) => ` ${element.textContent}`.includes(` ${figure}`);
  const fact = [...byId("facts").children].find((one) => one.querySelector("dd").firstChild.textContent === figure);
  const condition = !fact && [...byId("conditions").querySelectorAll("li")].find(holds);
  if (condition) {
    if (byId("conditions").hidden) byId("conditions-toggle").click();
    mark(condition);
    return;
  }
  mark(fact ?? byId("pinch-words"));
}

function mark(element) {
  for (const other of document.querySelectorAll(`.${POINTED}`)) other.classList.remove(POINTED);
  element.classList.add(POINTED);
  element.tabIndex = -1;
  reveal(element);
  element.scrollIntoView({ block: "center" });
  element.focus({ preventScroll: true });
}
