// The planner's last full answer, kept by the browser with the request that it answers: with the
// planner away, the page opens with it.
const KEY = "yardfall.answer.1";

export class LastAnswer {
  constructor(storage) {
    this.storage = storage;
  }

  keep(body, answer) {
    try {
      this.storage.setItem(KEY, JSON.stringify({ body, answer }));
    } catch {
      this.storage.removeItem(KEY); // full: rather none than that of another plan
    }
  }

  // {body, answer}, or null where none was kept that can be read.
  get() {
    try {
      const kept = JSON.parse(this.storage.getItem(KEY));
      return kept?.body && kept.answer?.whole ? kept : null;
    } catch {
      return null;
    }
  }
}
