// The heads of the tables of readings, and how each is read and written.

export const HEADS = {
  level_line: { at: "Station", down: "String down to ground", line: "Which string" },
  rod: { sight: "Sight", on: "On point", at: "Station", rod: "Rod reads" },
  elevations: { at: "Station", elevation: "Ground elevation" },
  slopes: { from: "From", to: "To", percent: "Slope, falling −" },
  steps: { length: "Length of the step", drop: "Drop along it" },
  spots: { x: "x", y: "y", z: "Height" },
  over_raster: { at: "Station", down: "String down to ground", line: "Which string" },
};
export const WORDS = {
  level_line:
    "Hang a level string from the house toward the outlet. At each station, measure from the " +
    "house (station) and from the string down to the ground. If you hang it again at another " +
    "height, give each string a name and read one station from both.",
  rod:
    "Write it as in the book: a backsight (BS) on a point of known level, intermediate sights " +
    "(IS) on the ground, a foresight (FS) before the instrument moves. Close on the benchmark " +
    "and the error is found and shared out.",
  elevations: "The ground's height at each station, from any level that you like as zero.",
  slopes: "Uphill in the direction of the run counts as plus, downhill as minus.",
  steps:
    "Hold a straight board level, its upper end on the ground, and measure from its lower end down to the ground: that " +
    "is the drop, over the length of the board. Move it down to there and go on; a last step may be " +
    "shorter. Where the ground rises, the drop is minus. Turn the level end for end at every step: then its own error cancels.",
  spots: "Heights on a grid or wherever you took them; the ground between is taken as triangles.",
};
export const SIGHTS = { BS: "BS back", IS: "IS ground", FS: "FS fore" };

// A number pad, but for slopes, which take a minus, letters and a colon.
export const inputMode = (quantity) => (["text", "choice", "grade"].includes(quantity) ? null : "decimal");
