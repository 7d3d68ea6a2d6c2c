// Keeps one answer in step with a plan that changes under it: waits for a pause, drops what is
// stale, never lets an older answer stand over a newer one, tries again when the planner is away.
export const PAUSE_MS = 80;
export const AGAIN_MS = 3000;

export class LiveAnswer {
  #asked = 0;
  #shown = 0;
  #timer = null;
  #flight = null;
  #next = null;

  // `send(body, signal)` answers a promise of {answer} or {problem}; it rejects when nothing can
  // be reached. `clock` holds setTimeout and clearTimeout.
  constructor({ send, onAnswer, onProblem, onAway, clock = globalThis }) {
    Object.assign(this, { send, onAnswer, onProblem, onAway, clock });
  }

  // Whether the newest question is still without its answer.
  get pending() {
    return this.#shown < this.#asked;
  }

  // Ask for a body. With `flowing` (a drag) questions go out one after another without waiting
  // for the hand to rest; else after a pause.
  ask(body, { flowing = false } = {}) {
    this.#asked += 1;
    this.#next = { body, number: this.#asked };
    if (flowing && this.#timer !== null) return;
    this.#after(flowing ? 0 : PAUSE_MS, flowing);
  }

  // Nothing can be asked now; what is under way is dropped.
  drop() {
    this.#asked += 1;
    this.#shown = this.#asked;
    this.#next = null;
    this.#stopTimer();
    this.#flight?.abort();
    this.#flight = null;
  }

  #after(wait, flowing) {
    this.#stopTimer();
    this.#timer = this.clock.setTimeout(() => {
      this.#timer = null;
      if (flowing && this.#flight) this.#after(PAUSE_MS / 4, true);
      else this.#send();
    }, wait);
  }

  #stopTimer() {
    if (this.#timer !== null) this.clock.clearTimeout(this.#timer);
    this.#timer = null;
  }

  async #send() {
    if (!this.#next) return;
    const { body, number } = this.#next;
    this.#flight?.abort();
    const flight = new AbortController();
    this.#flight = flight;
    let result = null;
    try {
      result = await this.send(body, flight.signal);
    } catch (error) {
      if (flight.signal.aborted) return;
      result = { away: error };
    }
    if (this.#flight === flight) this.#flight = null;
    if (flight.signal.aborted || number <= this.#shown) return;
    if (result.away) {
      this.onAway(result.away);
      if (this.#timer === null) this.#after(AGAIN_MS, false);
      return;
    }
    this.#shown = number;
    const newest = number === this.#asked;
    if (result.answer) this.onAnswer(result.answer, { newest, body });
    else if (newest) this.onProblem(result.problem);
  }
}
