// Where things stand: the yard with the trench beneath it, the entries that can be put away, and
// what the answer holds, one sheet at a time by name. On a narrow window these are screens, one at
// a time, that keep their place.
import { byId, h, say } from "./dom.js";

// [name of a sheet, the cards that it holds].
const SHEETS = [
  ["Why", ["outlet-picture", "notices", "why", "branch-answers"]],
  ["Dig table", ["stations"]],
  ["Water", ["water"]],
  ["To buy", ["bill"]],
  ["Papers", ["papers"]],
  ["Trench check", ["trench"]],
  ["Compare", ["alternatives"]],
  ["Old pipe", ["old-pipe"]],
  ["Cautions", ["cautions"]],
  ["Defaults used", ["assumed"]],
  ["Outlets", ["reach"]],
];
const SCREENS = [
  ["entries", "Entries", "yard"],
  ["place", "Yard", "map-place"],
  ["dock", "Trench", "dock"],
  ["answer", "Answer", "result"],
];
const BESIDE = "Outlets";
const ENTRIES_PUT_AWAY = "yardfall.entries-put-away";
const NARROW = matchMedia("(max-width: 61.99rem)");
const WIDE = matchMedia("(min-width: 107.5rem)");

let layout = null;

function sheetOf(element) {
  const card = element.closest("#result > *");
  return card ? SHEETS.find(([, ids]) => ids.includes(card.id))?.[0] : undefined;
}

// Bring a part of the page into view, whatever sheet, screen or fold it is in.
export function reveal(element) {
  layout?.reveal(element);
}

// Put away the sheet that holds something.
export function leave(element) {
  layout.leave(element);
}

// Bring it into view by its id, and under the keys, so that Tab goes on from there.
export function bringUp(id) {
  const element = byId(id);
  reveal(element);
  element.scrollIntoView({ block: "start" });
  element.focus({ preventScroll: true });
}

// Set only what changes, so that nobody who watches hears of it twice.
function hide(element, hidden) {
  if (element.hidden !== hidden) element.hidden = hidden;
}

export class Layout {
  #open = WIDE.matches ? "Why" : null;
  #buttons = new Map();
  #frame = null;
  #asideWas = null; // whether the entries were put away before a sheet asked for their room

  // `onRoom` is called where the yard has another width all at once.
  constructor(onRoom) {
    layout = this;
    this.onRoom = onRoom;
    this.rail = byId("rail");
    this.result = byId("result");
    this.rail.append(...SHEETS.map(([name]) => this.#button(name)));
    this.screens = SCREENS.map(([screen, text]) =>
      h("button", { type: "button", "data-screen": screen, onclick: () => this.screen(screen) }, text),
    );
    byId("screens").append(...this.screens);
    this.toggle = byId("entries-toggle");
    this.toggle.addEventListener("click", () => this.#putAway(!document.body.classList.contains("entries-away")));
    byId("sheet-close").addEventListener("click", () => this.#close());
    for (const link of document.querySelectorAll("a.skip")) link.addEventListener("click", (event) => this.#skip(event));
    byId("caution-press").addEventListener("click", () => bringUp("cautions"));
    byId("key-toggle").addEventListener("click", (event) => {
      const key = byId("profile-key");
      key.hidden = !key.hidden;
      event.currentTarget.setAttribute("aria-expanded", String(!key.hidden));
    });
    this.result.addEventListener("keydown", (event) => event.key === "Escape" && !NARROW.matches && this.#close());
    const changed = new MutationObserver(() => this.#soon());
    changed.observe(this.result, { subtree: true, childList: true, attributeFilter: ["hidden"] });
    changed.observe(byId("profile-card"), { attributeFilter: ["hidden"] });
    for (const media of [NARROW, WIDE]) media.addEventListener("change", () => this.#show());
    this.#putAway(localStorage.getItem(ENTRIES_PUT_AWAY) === "yes");
    this.screen("place");
    this.#show();
  }

  // The part is brought up and gets the focus; the address stays the job's.
  #skip(event) {
    event.preventDefault();
    const id = event.currentTarget.hash.slice(1);
    if (id === "result" && !this.#open) this.#sheet("Why");
    bringUp(id);
  }

  #button(name) {
    const button = h(
      "button",
      {
        type: "button",
        "aria-controls": "result",
        onclick: () => {
          if (this.#open === name && !NARROW.matches && !WIDE.matches) this.#close();
          else this.#sheet(name);
        },
      },
      name,
    );
    this.#buttons.set(name, button);
    return button;
  }

  #putAway(away) {
    document.body.classList.toggle("entries-away", away);
    this.toggle.setAttribute("aria-expanded", String(!away));
    localStorage.setItem(ENTRIES_PUT_AWAY, away ? "yes" : "");
  }

  #sheet(name) {
    this.#open = name;
    this.#show();
    this.result.scrollTop = 0;
  }

  #close() {
    const button = this.#buttons.get(this.#open);
    this.#open = WIDE.matches ? "Why" : null;
    this.#show();
    button?.focus({ preventScroll: true });
  }

  // The search is worked on the map itself: its sheet takes the room of the entries.
  #makeRoom(beside) {
    if (beside === (this.#asideWas !== null)) return;
    document.body.classList.toggle("sheet-beside", beside);
    if (beside) {
      this.#asideWas = document.body.classList.contains("entries-away");
      document.body.classList.add("entries-away");
    } else {
      document.body.classList.toggle("entries-away", this.#asideWas);
      this.#asideWas = null;
    }
    this.toggle.setAttribute("aria-expanded", String(!document.body.classList.contains("entries-away")));
    this.onRoom();
  }

  // Show one of the screens of a narrow window: entries, place, dock or answer.
  screen(name) {
    document.body.dataset.screen = name;
    for (const button of this.screens) {
      if (button.dataset.screen === name) button.setAttribute("aria-current", "true");
      else button.removeAttribute("aria-current");
    }
    if (name === "answer" && !this.#open) this.#sheet("Why");
  }

  reveal(element) {
    if (!element) return;
    for (let fold = element.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    const sheet = sheetOf(element);
    if (sheet && sheet !== this.#open) this.#sheet(sheet);
    const screen = SCREENS.find(([, , id]) => byId(id).contains(element));
    if (screen) this.screen(screen[0]);
    if (screen?.[0] === "entries") this.#putAway(false);
  }

  leave(element) {
    if (this.#buttons.get(this.#open) && sheetOf(element) === this.#open) this.#close();
  }

  #soon() {
    this.#frame ??= requestAnimationFrame(() => this.#show());
  }

  // What each sheet holds comes and goes with the answer.
  #show() {
    this.#frame = null;
    const cards = (ids) => ids.map(byId).filter(Boolean);
    const holds = (ids) => cards(ids).some((card) => !card.hidden && card.childElementCount > 0);
    if (NARROW.matches || WIDE.matches) this.#open ??= "Why";
    for (const [name, ids] of SHEETS) {
      const open = this.#open === name;
      const button = this.#buttons.get(name);
      button.disabled = !holds(ids) && !open;
      if (name === "Outlets") button.hidden = button.disabled;
      button.setAttribute("aria-expanded", String(open));
      for (const card of cards(ids)) card.classList.toggle("elsewhere", !open);
    }
    document.body.classList.toggle("sheet-open", this.#open !== null);
    this.#makeRoom(this.#open === BESIDE && !NARROW.matches && !WIDE.matches);
    const open = SHEETS.find(([name]) => name === this.#open);
    hide(byId("sheet-empty"), !open || holds(open[1]));
    // A sheet of words alone is scrolled by the keys.
    const pressable = open && cards(open[1]).some((card) => card.querySelector("a, button, input, select, summary"));
    this.result.tabIndex = pressable ? -1 : 0;
    hide(byId("no-profile"), !byId("profile-card").hidden);
    const cautions = byId("caution-list").childElementCount;
    say(byId("caution-press"), cautions ? `Before you dig: ${cautions} cautions` : "Before you dig");
  }
}
