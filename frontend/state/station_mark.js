// The station that is marked on the map, the profile and in the table at once. Pointing marks
// it for as long as it lasts; focus or a tap pins it.
export class StationMark {
  #pointed = null;
  #pinned = null;
  #views = [];

  // The marked station's distance from the start, in the plan's units; null for none.
  get at() {
    return this.#pointed ?? this.#pinned;
  }

  point(at) {
    this.#set(at, this.#pinned);
  }

  pin(at) {
    this.#set(this.#pointed, at);
  }

  clear() {
    this.#set(null, null);
  }

  watch(view) {
    this.#views.push(view);
  }

  #set(pointed, pinned) {
    const before = this.at;
    [this.#pointed, this.#pinned] = [pointed, pinned];
    if (this.at !== before) for (const view of this.#views) view(this.at);
  }
}
