// Holds the plan with its history, tells the views of changes, keeps it in the browser.

import { edited, fresh, redone, undone } from "../model/changes/history.js";
import { completed } from "../model/document/document.js";

const KEY = "yardfall.plan.1";
const KEPT_STEPS = 20;
const SAVE_AFTER_MS = 150;

export class PlanStore {
  #history = null;
  #views = [];
  #timer = null;
  keeps = true; // whether the browser keeps what is typed

  constructor(storage) {
    this.storage = storage;
    addEventListener("pagehide", () => this.save());
  }

  get plan() {
    return this.#history?.present ?? null;
  }

  get canUndo() {
    return this.#history.past.length > 0;
  }

  get canRedo() {
    return this.#history.future.length > 0;
  }

  // Take up a plan as the first of its history.
  begin(plan) {
    this.#become(fresh(plan));
  }

  // Take up what the browser kept; false when it kept nothing that can be used.
  restore() {
    const kept = read(this.storage);
    if (!kept) return false;
    this.#become(kept);
    return true;
  }

  // Change the plan by a function of it. Edits with one `key` in quick succession are one step
  // of undo. `origin` tells views where the change came from.
  edit(change, { key = null, origin = null } = {}) {
    this.#become(edited(this.#history, change(this.plan), key, Date.now()), origin);
  }

  // Change every plan of the history by a function of it, without a step of undo.
  rewrite(change) {
    const { past, present, future } = this.#history;
    const [before, after] = [past, future].map((plans) => plans.map(change));
    this.#become({ ...this.#history, past: before, present: change(present), future: after });
  }

  undo() {
    this.#become(undone(this.#history));
  }

  redo() {
    this.#become(redone(this.#history));
  }

  // `view(plan, before, origin)` is called after every change.
  watch(view) {
    this.#views.push(view);
  }

  save() {
    clearTimeout(this.#timer);
    this.#timer = null;
    if (!this.#history) return;
    const { past, present, future } = this.#history;
    const kept = { past: past.slice(-KEPT_STEPS), present, future: future.slice(0, KEPT_STEPS) };
    this.keeps = write(this.storage, kept);
  }

  #become(history, origin = null) {
    const before = this.#history?.present ?? null;
    if (this.#history === history) return;
    this.#history = history;
    this.#timer ??= setTimeout(() => this.save(), SAVE_AFTER_MS);
    for (const view of this.#views) view(this.plan, before, origin);
  }
}

function read(storage) {
  try {
    const kept = JSON.parse(storage.getItem(KEY));
    if (kept?.present?.version !== 1) return null;
    const { past, present, future } = kept;
    return { ...fresh(completed(present)), past: past.map(completed), future: future.map(completed) };
  } catch {
    return null;
  }
}

// A full or forbidden store must not stop the work; the plan then lasts as long as the page.
function write(storage, kept) {
  try {
    storage.setItem(KEY, JSON.stringify(kept));
    return true;
  } catch {
    return writeLess(storage, kept);
  }
}

// Without its history a plan takes little room.
function writeLess(storage, { present }) {
  try {
    storage.setItem(KEY, JSON.stringify({ past: [], present, future: [] }));
    return true;
  } catch {
    return false;
  }
}
