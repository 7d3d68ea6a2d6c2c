// The verdict strip: a sign, one sentence, how the answer stands, and the next step.
import { isGettingReady } from "../../api/planner.js";
import { byId, h, say, svg } from "../dom.js";
import { withFigures } from "./figures.js";

const SIGNS = {
  yes: ["M12 25l9 9 16-19"],
  conditional: ["M13 19l8 8 14-16", "M12 37h24"],
  no: ["M14 14l20 20", "M34 14l-20 20"],
  too_close: ["M12 20c5-6 8-6 12-2s8 4 12-2", "M12 32c5-6 8-6 12-2s8 4 12-2"],
  none: ["M24 12v16", "M24 35v1"],
};
const FRAMES = { yes: "circle", conditional: "square", no: "octagon", too_close: "diamond", none: "circle" };

const WORDS = { yes: "yes", conditional: "yes, on conditions", no: "no", too_close: "too close to call", none: "none yet" };

const LOADING = "Loading…";
const GETTING_READY = "The planner is getting ready, as it does once after it was installed. The first answer takes up to a minute.";
const LONG = 70;
const TIGHT = 110;

export class Verdict {
  #drawn = null;

  constructor() {
    this.strip = byId("verdict");
    this.sentence = byId("sentence");
    this.standing = byId("standing");
    this.next = byId("next");
    this.inYard = byId("yard-verdict");
    // Words that do not fit are scrolled to, by the keys as well.
    const frame = this.sentence.parentElement;
    const fits = new ResizeObserver(() => {
      if (frame.scrollHeight > frame.clientHeight + 1) frame.tabIndex = 0;
      else frame.removeAttribute("tabindex");
    });
    for (const part of [frame, this.sentence, this.standing]) fits.observe(part);
  }

  // Before anything is known.
  load() {
    this.show("none", LOADING);
  }

  // `verdict` is yes, conditional, no, too_close or none; `press(figure)` leads to where a figure of the
  // sentence comes from.
  show(verdict, sentence, press = null) {
    this.strip.dataset.verdict = verdict;
    this.strip.setAttribute("aria-label", `Verdict: ${WORDS[verdict]}`);
    if (this.sentence.textContent !== sentence || Boolean(this.press) !== Boolean(press)) {
      this.sentence.replaceChildren(...(press ? withFigures(sentence, (figure) => this.press(figure)) : [sentence]));
    }
    this.press = press;
    this.sentence.classList.toggle("long", sentence.length > LONG);
    // By the sentence alone: its letters keep their size when the words of how it stands come and go.
    this.strip.classList.toggle("tight", sentence.length > TIGHT);
    this.#tellYard(sentence, "");
    if (this.#drawn !== verdict) {
      byId("sign").replaceChildren(frame(FRAMES[verdict]), ...SIGNS[verdict].map((d) => svg("path", { d })));
      this.#drawn = verdict;
    }
  }

  // How the answer stands: null when it is the answer to what stands in the fields now.
  stand(text) {
    say(this.standing, text ?? "");
    this.#tellYard(this.sentence.textContent, text ?? "");
    this.standing.hidden = !text;
    this.strip.classList.toggle("old", Boolean(text));
    byId("result").classList.toggle("old", Boolean(text));
    byId("conditions").classList.toggle("old", Boolean(text));
    byId("conditions").inert = Boolean(text);
  }

  // That the planner is at work, while `slow()`; before its first answer, what may hold it up.
  async work(slow) {
    if (!slow() || !this.standing.hidden) return;
    if (this.sentence.textContent !== LOADING) this.stand("Working…");
    else if ((await isGettingReady()) && slow()) this.show("none", GETTING_READY);
  }

  #tellYard(sentence, standing) {
    this.inYard.dataset.verdict = standing ? "none" : this.strip.dataset.verdict;
    say(this.inYard, standing ? `${standing} (${sentence})` : sentence);
  }

  // The next step: {words, actions: [{text, act}]}.
  offer({ words = null, actions = [] }) {
    const key = [words, ...actions.map((action) => action.text)].join("|");
    if (this.next.dataset.key === key) return;
    this.next.dataset.key = key;
    this.next.replaceChildren(
      ...(words && actions.length < 3 ? [h("p", null, words)] : []),
      ...actions.map(({ text, act }, i) => h("button", { type: "button", class: i ? null : "primary", onclick: act }, text)),
    );
  }
}

function frame(shape) {
  if (shape === "octagon") return svg("path", { d: "M15 3h18l12 12v18L33 45H15L3 33V15z" });
  if (shape === "square") return svg("path", { d: "M9 3h30a6 6 0 0 1 6 6v30a6 6 0 0 1-6 6H9a6 6 0 0 1-6-6V9a6 6 0 0 1 6-6z" });
  if (shape === "diamond") return svg("path", { d: "M24 2l22 22-22 22L2 24z" });
  return svg("circle", { cx: 24, cy: 24, r: 21 });
}
