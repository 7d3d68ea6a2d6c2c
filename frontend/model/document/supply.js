// How the user buys pipe and digs, where that differs from the usual.
const QUANTITY = {
  piece_length: "distance",
  waste_percent: "percent",
  swell_percent: "percent",
  by_hand: "distance",
  by_machine: "distance",
};

export const SUPPLY_QUANTITIES = {
  ...Object.fromEntries(Object.entries(QUANTITY).map(([name, quantity]) => [`supply.${name}`, quantity])),
  "supply.depth_classes": "depths",
};

export const blankSupply = () => ({
  ...Object.fromEntries(Object.keys(QUANTITY).map((name) => [name, ""])),
  depth_classes: "",
});

// {supply} of the request; {} where nothing is said.
export function readSupply(plan, reader) {
  const { supply } = reader.part("supply", Object.keys(QUANTITY));
  reader.place("/supply/depth_classes", "supply.depth_classes");
  const depths = reader.list("supply.depth_classes");
  const given = { ...supply, ...(depths && { depth_classes: depths }) };
  return Object.keys(given).length ? { supply: given } : {};
}
