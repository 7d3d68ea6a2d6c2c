// The user's own prices: what has none is never priced.
const QUANTITY = {
  pipe_piece: "number",
  bedding: "per_volume",
  haul: "per_volume",
  fill: "per_volume",
  sod: "per_area",
  hour_by_hand: "number",
  hour_by_machine: "number",
};

export const PRICE_QUANTITIES = Object.fromEntries(Object.entries(QUANTITY).map(([name, quantity]) => [`prices.${name}`, quantity]));

export const blankPrices = () => ({
  currency: "",
  ...Object.fromEntries(Object.keys(QUANTITY).map((name) => [name, ""])),
  parts: {},
});

// {prices} of the request; {} where no price is given.
export function readPrices(plan, reader) {
  const { prices } = reader.part("prices", Object.keys(QUANTITY));
  const parts = {};
  for (const code of Object.keys(plan.prices.parts)) {
    reader.place(`/prices/parts/${code}`, `prices.parts.${code}`);
    const value = reader.number(`prices.parts.${code}`);
    if (value !== undefined) parts[code] = value;
  }
  reader.place("/prices/currency", "prices.currency");
  const given = { ...prices, ...(Object.keys(parts).length && { parts }) };
  if (!Object.keys(given).length) return {};
  const currency = plan.prices.currency.trim();
  return { prices: { ...given, ...(currency && { currency }) } };
}

// What a bill needs a price for, over all its lines: [{path, text, per}], `per` in words where
// the field has no unit of its own.
export function priceFields(bills) {
  const some = (figure) => bills.some((bill) => figure(bill) > 0);
  const names = new Map(bills.flatMap((bill) => [...bill.fittings, ...bill.outlet_parts]).map(({ part, name }) => [part, name]));
  const pieces = [...new Set(bills.map((bill) => bill.pipe.form))].join(" or ");
  return [
    { path: "prices.pipe_piece", text: "Pipe", per: `a ${pieces}` },
    some((bill) => bill.bedding.volume) && { path: "prices.bedding", text: "Bedding" },
    some((bill) => bill.spoil.haul) && { path: "prices.haul", text: "Hauling off" },
    some((bill) => bill.fill?.bring) && { path: "prices.fill", text: "Soil to bring" },
    { path: "prices.sod", text: "Sod" },
    { path: "prices.hour_by_hand", text: "Digging by hand", per: "an hour" },
    some((bill) => bill.hours.by_machine) && { path: "prices.hour_by_machine", text: "Digging by machine", per: "an hour" },
    ...[...names].map(([code, name]) => ({ path: `prices.parts.${code}`, text: capital(name), per: "each" })),
  ].filter(Boolean);
}

export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
