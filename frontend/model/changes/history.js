// Undo and redo over whole documents. Values are never changed in place, so keeping every
// version costs little. Edits with the same key in quick succession are one step of undo; those
// of one gesture (a drag) are one step however long it takes.
export const LONGEST = 100;
export const SAME_STEP_MS = 1500;

let gestures = 0;

// A key for the edits of one gesture.
export function gestureKey() {
  gestures += 1;
  return `gesture ${gestures}`;
}

export const fresh = (present) => ({ past: [], present, future: [], key: null, at: 0 });

// The history after an edit. `key` names what was edited ("start.value", "bend 2"); null never
// joins with the step before.
export function edited(history, present, key, now) {
  if (present === history.present) return history;
  const soon = now - history.at < SAME_STEP_MS || key?.startsWith("gesture ");
  const joins = key !== null && key === history.key && soon;
  const past = joins ? history.past : [...history.past, history.present].slice(-LONGEST);
  return { past, present, future: [], key, at: now };
}

export function undone(history) {
  if (!history.past.length) return history;
  return {
    past: history.past.slice(0, -1),
    present: history.past.at(-1),
    future: [history.present, ...history.future],
    key: null,
    at: 0,
  };
}

export function redone(history) {
  if (!history.future.length) return history;
  const [present, ...future] = history.future;
  return { past: [...history.past, history.present], present, future, key: null, at: 0 };
}
