// The place in hand: one number to act on, what the sheet says it should read or what to take off
// to get there, the field for what it reads, and what was found at the place read last.
import { isToMend, SURFACES, shouldRead, WAYS } from "../../model/request/trench.js";
import { convertEntry, textOf } from "../../model/units/entry.js";
import { h, say } from "../dom.js";
import { nowBox, readingEntry } from "./frame.js";
import { signOf, withUnit, wordsOf } from "./parts.js";

export class InHand {
  at = null; // the station in hand
  #drawn = "";
  #put = "";

  // `onTake()` takes what is typed, `onRemove()` takes it away, `onAgain()` goes back to the place
  // read last, `onGoOn()` leaves this place for the next, `onPipe()` goes on to the pipe.
  constructor({ onTake, onRemove, onAgain, onGoOn, onPipe }) {
    this.which = h("span", { id: "trench-which" }, "Next");
    this.label = h("b", { id: "trench-label" });
    this.or = h("span", { id: "trench-or" });
    this.should = h("p", { id: "trench-should" });
    this.input = h("input", {
      id: "trench-reading",
      autocomplete: "off",
      spellcheck: "false",
      inputmode: "none",
      enterkeyhint: "next",
      "aria-describedby": "trench-should trench-error",
      onkeydown: (event) => {
        if (event.key !== "Enter") return;
        event.preventDefault();
        onTake();
      },
      oninput: () => this.blame(""),
      onfocus: () => this.input.select(),
    });
    const button = (id, onclick, text, kind) => h("button", { type: "button", id, class: kind, hidden: true, onclick }, text);
    this.unit = h("span", { class: "unit" });
    this.error = h("p", { class: "error", id: "trench-error", hidden: true });
    this.remove = button("trench-remove", onRemove, "Remove", "quiet");
    this.entry = readingEntry(this);
    this.result = h("div", { id: "trench-result", class: "trench-result", role: "status" });
    this.again = button("trench-again", onAgain);
    this.skip = button("trench-skip", onGoOn);
    this.onward = button("trench-onward", onPipe, "The pipe is in: check it too");
    this.same = button("trench-same", () => {
      this.input.value = this.same.dataset.figure;
      this.blame("");
      this.input.focus();
    });
    this.element = nowBox(this);
  }

  // Whether the field holds what was put there, or is done with.
  get isUntouched() {
    return !this.#drawn || this.input.value === this.#put;
  }

  // Draw the field anew with the next answer.
  forget() {
    this.#drawn = "";
  }

  blame(text) {
    say(this.error, text);
    this.error.hidden = !text;
    if (text) this.input.setAttribute("aria-invalid", "true");
    else this.input.removeAttribute("aria-invalid");
  }

  // Put the focus where the hand goes on: the field, else the press that leads on.
  hold() {
    const seen = [this.input, this.onward, this.again].find((part) => part.offsetParent);
    (seen ?? this.element).focus();
  }

  // A field that is done with takes the focus away with it: hold it here.
  keepFocus() {
    const dialog = this.element.closest("dialog");
    const lost = [document.body, dialog, this.element].includes(document.activeElement);
    if (dialog.open && lost) this.hold();
  }

  // Show a place, or that all are read. Answers whether the place or the way shown has changed.
  show(place, { way, unit, check, asked, away, last, same, next, pipeIsNext, on }) {
    this.at = place?.at ?? null;
    const mending = Boolean(place) && isToMend(place, asked);
    this.element.classList.toggle("mending", mending);
    this.entry.hidden = !place;
    say(this.label, place?.label ?? (check ? "All read" : ""));
    say(this.which, !place ? "" : mending ? "Read" : place.entry ? "Again" : "Next");
    this.should.replaceChildren(...this.#shouldWords(place, { way, unit, check, mending, on }));
    this.remove.hidden = !place?.entry;
    say(this.unit, unit);
    this.#showFound(mending ? place : last, { asked, away });
    this.again.hidden = mending || !last || !isToMend(last, asked) || this.at === last.at;
    say(this.again, last ? `Read ${last.label} again` : "");
    this.skip.hidden = !mending || !next;
    say(this.skip, next ? `Go on to ${next.label}` : "");
    this.same.hidden = same === null;
    this.same.dataset.figure = same ?? "";
    say(this.same, `Last reading: ${withUnit(same ?? "", unit)}`);
    this.onward.hidden = !pipeIsNext;
    say(this.or, mending ? " again, or go on" : "");
    return this.#showField(place, { way, unit, mending });
  }

  #shouldWords(place, { way, unit, check, mending, on }) {
    if (!place) return check ? ["Tap a station to read it again."] : [];
    const from = ` ${WAYS[way].from} to ${SURFACES[on]}`;
    const should = shouldRead(place, way);
    if (!should) return [from.trim()];
    const lead = !mending ? "should read " : place.station.do === "read_again" ? "should read " : "until it reads ";
    return [h("span", null, lead), h("b", null, should), h("span", null, from)];
  }

  // A bad reading is kept, but not put in the field: what is typed next may be another station's.
  #showField(place, { way, unit, mending }) {
    const key = `${place?.at} ${way} ${unit} ${mending}`;
    if (key === this.#drawn) return false;
    this.#drawn = key;
    this.blame("");
    const { entry } = place ?? {};
    this.#put = entry && !mending ? textOf(convertEntry(entry.typed, entry.unit, unit)) : "";
    this.input.value = this.#put;
    if (entry) this.input.select();
    return true;
  }

  // What was found at a place, with what is to be done there.
  #showFound(place, seen) {
    const said = place && wordsOf(place, seen);
    const key = said ? `${place.label} ${said.sign} ${said.words} ${said.more}` : "";
    if (this.result.dataset.key === key) return;
    this.result.dataset.key = key;
    this.result.className = `trench-result${said ? ` is-${said.sign}` : ""}`;
    this.result.replaceChildren(
      ...(said
        ? [
            signOf(said.sign),
            h(
              "p",
              null,
              h("b", null, `${place.label}: `, h("span", { class: "act" }, said.words)),
              said.more && h("small", null, said.more),
            ),
          ]
        : []),
    );
  }
}
