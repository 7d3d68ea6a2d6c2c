// The check in the trench, made for one thumb: the next station, what it should read, one field,
// and a tick or what to shave. #in-the-trench in the address opens it, so that a reload comes
// back to it and the phone's back button leaves it.
import { LiveAnswer } from "../../api/live_answer.js";
import { askCheck } from "../../api/planner.js";
import {
  checkRequest,
  isChecked,
  isDoubted,
  isToMend,
  lineNow,
  placeNow,
  placesOf,
  planChanged,
  readingsNow,
  sameAgain,
  strayReadings,
  surfaceAfter,
  unitBy,
  wayNow,
  withoutOwn,
  withoutReading,
  withReading,
} from "../../model/request/trench.js";
import { readMeasure } from "../../model/units/parse_measure.js";
import { addressSays, goTo, keepAddress } from "../../state/address.js";
import { TrenchLog } from "../../state/trench_log.js";
import { h, say } from "../dom.js";
import { NumberPad } from "../widgets/number_pad.js";
import { TrenchChoices } from "./choices.js";
import { checkCard, checkDialog, opener } from "./frame.js";
import { InHand } from "./in_hand.js";
import { byLevel, placeList, remarks } from "./parts.js";

const PLACE = "in-the-trench";
const AWAY = "The planner cannot be reached. What you type is kept here and checked when it is back.";
const NO_FIT =
  "This plan is a “no”: do not dig from it. A pass here would only mean that the trench " + "matches a plan that does not work.";
const CHANGED = "The plan is not the one of your first reading here. What you read is held against the plan as it stands now.";
const WANTING = "The plan is not finished, so there is nothing to check against yet. Your readings are kept.";

export class TrenchCheck {
  #chosen = null;
  #last = null;
  #fresh = false; // what was typed last is not answered yet
  #answers = new Map();
  #asked = [];
  #sent = new WeakMap();
  #away = false;
  #problem = "";
  #here = null; // what this phone found by itself, until the planner has looked: {key, check}
  #otherwise = "";
  #own = null; // the sums for when the planner is away, fetched once the trench is opened

  // `requestOf()` is the request of the plan as it stands, or null; `knownOf()` the last answer that
  // is kept, {body, answer} or null; its card goes `before` a part. `send` asks for a check, `log`
  // holds what is read.
  constructor({ requestOf, knownOf, before, send = askCheck, log = new TrenchLog(localStorage) }) {
    Object.assign(this, { requestOf, knownOf, log });
    this.#build(before);
    this.live = new LiveAnswer({
      send,
      onAnswer: (answer, { body }) => this.#answered(answer, body),
      onProblem: (problem) => this.#refused(problem),
      onAway: () => this.#show({ away: true }),
    });
    addEventListener("online", () => this.live.again());
    addEventListener("hashchange", () => this.#follow());
  }

  // The plan has changed.
  show() {
    this.card.hidden = !this.requestOf();
    if (this.dialog.open) this.#ask();
  }

  // Open where the address says so; called when the page is ready.
  begin() {
    this.#follow();
  }

  #build(before) {
    this.opener = opener(() => {
      goTo({ [PLACE]: true });
    });
    this.summary = h("p", { id: "trench-summary" });
    this.card = checkCard(this);
    before.before(this.card);

    this.verdict = h("p", { id: "trench-verdict", class: "trench-verdict", role: "status" });
    this.alarm = h("p", { id: "trench-alarm", class: "trench-alarm", role: "alert" });
    this.hand = new InHand({
      onTake: () => this.#take(),
      onRemove: () => this.#remove(),
      onAgain: () => this.#choose(this.#last),
      onGoOn: () => this.#choose(null),
      onPipe: () => this.#goOn(),
    });
    this.now = this.hand.element;
    this.list = h("div", { id: "trench-places" });
    this.notes = h("div", { id: "trench-notes", class: "trench-notes" });
    this.choices = new TrenchChoices({
      onChange: (change) => this.#rechoose(change),
      onClear: () => this.#clear(),
    });
    this.page = h(
      "div",
      { class: "trench-page", tabindex: "0", role: "group", "aria-label": "Stations and how they are read" },
      this.list,
      this.choices.element,
      this.notes,
    );
    const pad = h("div", { class: "trench-pad" });
    this.pad = new NumberPad(pad, { inputOf: () => this.hand.input, next: () => this.#take() });
    this.dialog = checkDialog(this, pad, () => this.#leave());
    document.body.append(this.dialog);
  }

  #follow() {
    const wanted = addressSays(PLACE) !== null;
    if (wanted && !this.dialog.open) {
      this.dialog.showModal();
      this.#fetchOwn();
      this.#ask();
      this.hand.hold();
    }
    if (!wanted && this.dialog.open) this.dialog.close();
  }

  // The worker that keeps the page keeps them too, so they come with no network as well.
  async #fetchOwn() {
    this.#own ??= await import("../../model/trench/here.js").catch(() => null);
    if (this.#away) this.#show();
  }

  #leave() {
    keepAddress({ [PLACE]: null });
    this.dialog.close();
    if (!this.card.hidden) this.opener.focus();
  }

  #ask() {
    const plan = this.requestOf();
    if (plan) {
      const body = checkRequest(this.log.kept, plan);
      this.#asked = readingsNow(this.log.kept, plan).map(({ entry }) => entry);
      this.#sent.set(body, this.#asked);
      this.live.ask(body);
    } else this.live.drop();
    this.#show();
  }

  #answered(answer, body) {
    const key = keyOf(body.branch ?? null, body.next_on);
    this.#answers.set(key, { check: answer, asked: this.#sent.get(body) });
    this.#problem = "";
    this.#otherwise = this.#here?.key === key ? this.#own.otherwiseWords(this.#here.check, answer) : "";
    this.#here = null;
    this.#show({ away: false });
    this.hand.keepFocus();
  }

  #refused({ errors, detail, title }) {
    const told = (errors ?? []).map((error) => {
      const entry = this.#asked[/^\/as_dug\/(\d+)/.exec(error.pointer)?.[1]];
      return entry ? `${entry.label}: ${error.detail}` : error.detail;
    });
    this.#problem = `This cannot be checked: ${told.join(" ") || detail || title}`;
    this.#show({ away: false });
  }

  #show({ away = this.#away } = {}) {
    this.#away = away;
    const plan = this.requestOf();
    for (const part of [this.now, this.list, this.choices.element, this.notes]) part.hidden = !plan;
    if (!plan) {
      this.#tell("none", WANTING);
      return;
    }
    const { kept } = this.log;
    const { check, asked } = this.#checked(plan);
    const places = placesOf(check, kept, plan);
    this.#stay(places, asked);
    const now = placeNow(places, this.#chosen, asked);
    const way = wayNow(kept, plan);
    const unit = unitBy(way, kept, plan);
    const seen = { way, unit, units: plan.units, asked, away, onTake: (place) => this.#choose(place.at) };
    this.#showVerdict(check, plan);
    const last = places.find(({ at }) => at === this.#last);
    const same = sameAgain(kept, plan, this.#last, now);
    const next = places.find((place) => !place.entry && place !== now);
    const pipeIsNext = !away && !now && surfaceAfter(check, kept) !== null;
    this.pad.show(plan.units, unit === "in");
    const moved = this.hand.show(now, { way, unit, check, asked, away, last, same, next, pipeIsNext, on: kept.on });
    this.#showList(places, now, seen);
    if (moved) this.#bringUp(this.list.querySelector("[aria-current]"));
    this.choices.show(this.log, plan, check);
    this.notes.replaceChildren(...(check ? [...remarks(check), byLevel(check)] : []));
  }

  // What is known of what was typed, {check, asked}: with the planner away, what this phone finds.
  #checked(plan) {
    const { kept } = this.log;
    const key = keyOf(lineNow(kept, plan), kept.on);
    const { check = null, asked = [] } = this.#answers.get(key) ?? {};
    if (!this.#away) return { check, asked };
    const found = this.#own?.checkedHere(kept, plan, this.knownOf());
    if (!found) return { check, asked };
    this.#here = { key, check: found.check };
    return found;
  }

  // Scroll the list, or the whole sheet where it scrolls as one, to what is read now.
  #bringUp(row) {
    this.dialog.scrollTop = 0;
    const { page } = this;
    if (!row) return;
    const below = row.offsetTop + row.offsetHeight - page.clientHeight;
    if (row.offsetTop < page.scrollTop) page.scrollTop = row.offsetTop;
    else if (below > page.scrollTop) page.scrollTop = below;
  }

  #showVerdict(check, plan) {
    const { kept } = this.log;
    const stray = strayReadings(kept, plan).length;
    const besides = [
      this.#otherwise,
      planChanged(kept, plan) && CHANGED,
      stray > 0 && `${stray} of your readings were taken in a way that this plan's ground does not know: kept, not checked.`,
    ]
      .filter(Boolean)
      .join(" ");
    const tone = check?.plan_fits === false ? "fail" : check?.verdict;
    const last = check ? ` Last answer: ${check.sentence}` : "";
    if (this.#away && check?.here) this.#tell(tone, `${check.sentence} ${this.#own.HERE} ${besides}`);
    else if (this.#away) this.#tell("away", `${AWAY}${last} ${besides}`);
    else if (this.#problem) this.#tell("away", `${this.#problem} ${besides}`);
    else this.#tell(tone ?? "none", `${check?.sentence ?? "Asking what to read…"} ${besides}`);
    say(this.alarm, check?.plan_fits === false ? NO_FIT : "");
    this.alarm.hidden = check?.plan_fits !== false;
    say(this.summary, check ? check.sentence : "");
  }

  #tell(tone, text) {
    this.verdict.dataset.verdict = tone;
    say(this.verdict, text.trim());
  }

  // A place that turns out not to be good stays in hand, unless the next is being typed.
  #stay(places, asked) {
    const last = places.find(({ at }) => at === this.#last);
    if (!this.#fresh || !last || !isChecked(last, asked)) return;
    this.#fresh = false;
    if (isToMend(last, asked) && this.hand.isUntouched) this.#chosen = last.at;
  }

  #showList(places, now, seen) {
    const focused = this.list.contains(document.activeElement) ? document.activeElement.dataset.at : null;
    this.list.replaceChildren(placeList(places, now, seen));
    if (focused) this.list.querySelector(`[data-at="${focused}"]`)?.focus();
  }

  #take() {
    const plan = this.requestOf();
    const { kept } = this.log;
    if (!plan) return;
    const { check, asked } = this.#checked(plan);
    const place = placeNow(placesOf(check, kept, plan), this.#chosen, asked);
    if (!place) return;
    const by = wayNow(kept, plan);
    const found = readMeasure(this.hand.input.value, unitBy(by, kept, plan));
    if (!found.value) {
      this.hand.blame(found.error ?? "Type what it reads here.");
      return;
    }
    const typed = this.hand.input.value.trim();
    const again = isDoubted(place, asked);
    this.#otherwise = "";
    this.log.change(withReading(kept, plan, { at: place.at, label: place.label, by, typed, again }));
    [this.#last, this.#chosen, this.#fresh] = [place.at, null, true];
    this.hand.forget();
    this.#ask();
    this.hand.hold();
  }

  // Take a place up, to read it or to mend what was typed there.
  #choose(at) {
    const plan = this.requestOf();
    const entry = readingsNow(this.log.kept, plan).find((reading) => reading.at === at)?.entry;
    if (entry) this.log.change({ by: entry.by });
    this.#chosen = at;
    this.hand.forget();
    this.#show();
    this.hand.hold();
  }

  #remove() {
    this.log.change(withoutReading(this.log.kept, this.requestOf(), this.hand.at));
    this.#chosen = null;
    this.hand.forget();
    this.#ask();
    this.hand.hold();
  }

  // Another line, surface, way of reading or tolerance.
  #rechoose(change) {
    this.log.change(change);
    [this.#chosen, this.#last, this.#problem] = [null, null, ""];
    this.hand.forget();
    this.#ask();
  }

  // Go on from the trench, now that it passes, to the pipe in it.
  #goOn() {
    const { kept } = this.log;
    const { check } = this.#answers.get(keyOf(lineNow(kept, this.requestOf()), kept.on));
    this.#rechoose({ on: surfaceAfter(check, kept) });
    this.hand.hold();
  }

  #clear() {
    this.log.change(withoutOwn(this.log.kept, this.requestOf()));
    [this.#chosen, this.#last] = [null, null];
    this.hand.forget();
    this.#ask();
    this.hand.hold();
  }
}

const keyOf = (branch, on) => JSON.stringify([branch, on]);
