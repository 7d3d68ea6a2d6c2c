// Scales of the profile drawing: how far heights are stretched, and where ticks and labels go.
const ROUND_STRETCHES = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100];

// The largest round vertical exaggeration at which `height` still fits, given `width` across.
// Height and width are in the same unit of ground, room is in pixels.
export function exaggeration(width, height, roomWide, roomTall) {
  if (!(width > 0) || !(height > 0)) return 1;
  const most = (roomTall / height) * (width / roomWide);
  return ROUND_STRETCHES.filter((stretch) => stretch <= most).at(-1) ?? most;
}

// A round step (1, 2 or 5 times a power of ten) that puts at most `most` steps on a span.
export function roundStep(span, most) {
  if (!(span > 0)) return 1;
  const power = 10 ** Math.floor(Math.log10(span / most));
  return power * [1, 2, 5, 10].find((m) => power * m * most >= span * (1 - 1e-9));
}

// Multiples of `step` inside [from, to].
export function ticks(from, to, step) {
  const first = Math.ceil(from / step - 1e-9);
  const last = Math.floor(to / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => (first + i) * step);
}

// Which labels to write so that none overlap: `places` are pixel centres in order, each label
// `width` wide; places in `always` are written first.
export function spacedLabels(places, width, always = []) {
  const kept = [];
  const free = (i) => kept.every((k) => Math.abs(places[k] - places[i]) >= width);
  for (const i of [...always, ...places.keys()]) if (!kept.includes(i) && free(i)) kept.push(i);
  return kept.sort((a, b) => a - b);
}
