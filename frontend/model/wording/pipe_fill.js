// How full each stretch of pipe runs, by the cautious of the published bases.
const BANDS = [
  { most: 0.5, band: "easy" },
  { most: 0.8, band: "half" },
  { most: 1, band: "near" },
  { most: Infinity, band: "over" },
];
export const BAND_WORDS = {
  easy: "under half full",
  half: "half to four fifths",
  near: "nearly all it can carry",
  over: "more than it can carry",
};

export const bandOf = (share) => BANDS.find(({ most }) => share <= most).band;

export const percentText = (share) => `${Math.round(share * 100)} %`;

// The answers for every pipe of a tree by the name of its branch, the main line under null.
export function linesOf(answer, name = null) {
  return [{ name, answer }, ...answer.branches.flatMap((branch) => linesOf(branch, branch.name))];
}

// Every stretch that carries water: {name, from, to, share, band}, from and to in shares of its
// line's length.
export function stretchesOf(answer) {
  return linesOf(answer).flatMap(({ name, answer: { water, length } }) =>
    (water?.stretches ?? [])
      .filter((stretch) => stretch.cautious_share > 0)
      .map((stretch) => ({
        name,
        from: stretch.from / length,
        to: stretch.to / length,
        share: stretch.cautious_share,
        band: bandOf(stretch.cautious_share),
      })),
  );
}
