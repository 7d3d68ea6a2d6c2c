// Elements without strings of markup: text only ever becomes text.
const SVG = "http://www.w3.org/2000/svg";

// An HTML element. Names of properties that start with "on" are listeners; the rest are
// attributes, left out where null, undefined or false.
export const h = (tag, attributes, ...children) => filled(document.createElement(tag), attributes, children);

export const svg = (tag, attributes, ...children) => filled(document.createElementNS(SVG, tag), attributes, children);

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(Infinity).filter((child) => child || child === 0));
  return element;
}

export const byId = (id) => document.getElementById(id);

// Set text only when it changes, so that a live region does not speak twice.
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export const idOf = (path) => `f-${path.replaceAll(".", "-")}`;
