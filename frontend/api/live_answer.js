// Keeps one answer in step with a plan that changes under it: waits for a pause in typing, asks
// briefly while a hand drags and fully when it rests, drops what is stale, never lets an older
// answer stand over a newer one, tries again when the planner is away or busy.
export const PAUSE_MS = 80;
export const REST_MS = 160;
export const AGAIN_MS = 3000;

export class LiveAnswer {
  #asked = 0;
  #shown = 0;
  #settled = 0;
  #timer = null;
  #flight = null;
  #next = null;

  // `send(body, signal, {brief})` answers a promise of {answer} or {problem}, with `again_ms` where
  // the same may be answered then; it rejects when nothing can be reached. `clock` holds setTimeout and clearTimeout.
  constructor({ send, onAnswer, onProblem, onAway, clock = globalThis }) {
    Object.assign(this, { send, onAnswer, onProblem, onAway, clock });
  }

  // Whether the newest question is still without its full answer.
  get pending() {
    return this.#settled < this.#asked;
  }

  // Ask for a body. With `flowing` (a drag) brief questions follow one another as fast as they
  // are answered, and the full one comes when the hand rests; else it comes after a pause.
  ask(body, { flowing = false } = {}) {
    this.#asked += 1;
    this.#next = { body, number: this.#asked };
    this.#after(flowing ? REST_MS : PAUSE_MS);
    if (flowing && !this.#flight?.brief) this.#send(true);
  }

  // Ask the newest question again, now.
  again() {
    if (this.#next && this.pending) this.#after(0);
  }

  // Nothing can be asked now; what is under way is dropped.
  drop() {
    this.#asked += 1;
    this.#shown = this.#asked;
    this.#settled = this.#asked;
    this.#next = null;
    this.#stopTimer();
    this.#flight?.control.abort();
    this.#flight = null;
  }

  #after(wait) {
    this.#stopTimer();
    this.#timer = this.clock.setTimeout(() => {
      this.#timer = null;
      this.#send(false);
    }, wait);
  }

  #stopTimer() {
    if (this.#timer !== null) this.clock.clearTimeout(this.#timer);
    this.#timer = null;
  }

  async #send(brief) {
    if (!this.#next) return;
    const { body, number } = this.#next;
    this.#flight?.control.abort();
    const flight = { brief, control: new AbortController() };
    this.#flight = flight;
    const { signal } = flight.control;
    const result = await this.send(body, signal, { brief }).catch((error) => ({ away: error }));
    if (signal.aborted) return;
    this.#flight = null;
    if (result.away) {
      this.onAway(result.away);
      this.#after(AGAIN_MS);
      return;
    }
    this.#take(result, { body, number, brief });
    if (result.again_ms && number === this.#asked) {
      this.#settled = Math.min(this.#settled, number - 1);
      this.#after(result.again_ms);
    }
    if (brief && this.#next?.number > number) this.#send(true);
  }

  #take(result, { body, number, brief }) {
    if (number < this.#shown) return;
    const newest = number === this.#asked;
    this.#shown = number;
    if (!brief) this.#settled = number;
    if (result.answer) this.onAnswer(result.answer, { newest, brief, body });
    else if (newest) this.onProblem(result.problem);
  }
}
