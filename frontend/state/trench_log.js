// The readings of the trench as the browser keeps them: through a reload, until cleared on purpose.
import { EMPTY } from "../model/request/trench.js";

const KEY = "yardfall.trench.1";

export class TrenchLog {
  keeps = true; // whether the browser keeps what is typed

  constructor(storage) {
    this.storage = storage;
    this.kept = read(storage);
  }

  change(change) {
    this.kept = { ...this.kept, ...change };
    try {
      this.storage.setItem(KEY, JSON.stringify(this.kept));
      this.keeps = true;
    } catch {
      this.keeps = false;
    }
  }
}

function read(storage) {
  try {
    const kept = JSON.parse(storage.getItem(KEY));
    return kept?.version === EMPTY.version && Array.isArray(kept.entries) ? { ...EMPTY, ...kept } : EMPTY;
  } catch {
    return EMPTY;
  }
}
