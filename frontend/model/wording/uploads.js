// What was uploaded, named so that two files of the same name are told apart, and what goes with one.

// Names by id: the second file of a name, in the order of their coming, is "plot.png (2)".
export function toldApart(files) {
  const names = new Map();
  const seen = new Map();
  for (const { id, name, uploaded_at: at } of [...files].sort((a, b) => (a.uploaded_at ?? "").localeCompare(b.uploaded_at ?? ""))) {
    const count = (seen.get(name) ?? 0) + 1;
    seen.set(name, count);
    names.set(id, count > 1 && at ? `${name} (${count})` : name);
  }
  return names;
}

// What is asked before a file is deleted; `drawnOn` tells that the plan lies on it.
export function deletionWords(isPicture, drawnOn) {
  const gone = "It cannot be brought back, and jobs that you keep on it open without it.";
  if (!drawnOn) return gone;
  return isPicture
    ? `Your plan lies on it: its lines go on a blank sheet, to scale. ${gone}`
    : `Your plan lies on it and goes to a blank sheet; its line on this raster is lost with it. ${gone}`;
}
