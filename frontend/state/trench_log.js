// The readings of the trench as the browser keeps them: through a reload, until cleared on purpose.
import { EMPTY } from "../model/request/trench.js";

const KEY = "yardfall.trench.1";

export class TrenchLog {
  keeps = true; // whether the browser keeps what is typed

  // `name` tells the readings of a job apart where several are read on one phone.
  constructor(storage, name = "") {
    this.storage = storage;
    this.key = name ? `${KEY}.${name}` : KEY;
    this.kept = read(storage, this.key);
  }

  change(change) {
    this.kept = { ...this.kept, ...change };
    try {
      this.storage.setItem(this.key, JSON.stringify(this.kept));
      this.keeps = true;
    } catch {
      this.keeps = false;
    }
  }
}

function read(storage, key) {
  try {
    const kept = JSON.parse(storage.getItem(key));
    return kept?.version === EMPTY.version && Array.isArray(kept.entries) ? { ...EMPTY, ...kept } : EMPTY;
  } catch {
    return EMPTY;
  }
}
