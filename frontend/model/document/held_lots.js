// The ground taken of lots lately, so that another click in one of them has it at once.
import { lotSize, onLot } from "./lot.js";

const HELD_MS = 600_000;

export class HeldLots {
  #held = [];

  // `lot` are the features as they were found at `crs`, `name` the source chosen then.
  put(lot, crs, name, taken, now) {
    this.drop(lot);
    if (lot.length) this.#held.push({ lot, crs, name, taken, until: now + HELD_MS });
  }

  // {lot, taken} of the smallest of these lots that has a place {at, crs}; null where none has.
  at({ at, crs }, name, now) {
    const here = this.#held.filter((one) => one.crs === crs && one.name === name && now < one.until && onLot(one.lot, at));
    return here.sort((a, b) => lotSize(a.lot) - lotSize(b.lot))[0] ?? null;
  }

  drop(lot) {
    this.#held = this.#held.filter((one) => !sameLot(one.lot, lot));
  }
}

// Whether the same was found at two places.
export const sameLot = (one, other) => JSON.stringify(one) === JSON.stringify(other);
