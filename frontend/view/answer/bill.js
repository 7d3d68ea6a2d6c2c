// What a plan takes: each figure with what it is reckoned from, and what it costs by the prices
// that the user gives.
import { capital, priceFields } from "../../model/document/prices.js";
import { depthText, plain, unitOf } from "../../model/units/units.js";
import { linesOf } from "../../model/wording/pipe_fill.js";
import { h, idOf } from "../dom.js";
import { framedTable } from "../widgets/data_table.js";
import { Footnotes } from "../widgets/footnotes.js";

const number = (value) => plain(value, Math.abs(value) >= 10 ? 1 : 2);
const counted = (value, unit) => `${number(value)} ${value === 1 ? unit.replace(/s$/, "") : unit}`;
const money = (value, currency) => `${value.toFixed(2)} ${currency}`.trim();

const SUPPLY = [
  ["supply.piece_length", "A coil or stick is long", "Empty: as its pipe is usually sold."],
  ["supply.waste_percent", "Pipe cut off and lost", "Empty: the usual for that kind of pipe."],
  ["supply.swell_percent", "Dug soil swells by", "Empty: as common earth does."],
  ["supply.by_hand", "Dug by hand in an hour", "The length of trench, as deep as this one."],
  ["supply.by_machine", "Dug by machine in an hour", "Empty: as the way you dig is usually reckoned."],
  ["supply.depth_classes", "Volume split at depths", "Separate with semicolons, shallowest first: 18; 36"],
];

export class BillCard {
  #asked = "";

  // Its card goes `before` a part of the page.
  constructor(store, form, before) {
    Object.assign(this, { store, form });
    this.figures = h("div", { id: "bill-figures" });
    this.cost = h("div", { id: "bill-cost" });
    this.fields = h("div", { class: "price-fields" });
    this.prices = h(
      "details",
      { class: "more", id: "prices" },
      h("summary", null, "Your prices"),
      h(
        "p",
        { class: "hint" },
        "No price is made up here: only what you price is counted. An hour is priced by hand or by machine, not both.",
      ),
      this.fields,
    );
    this.supply = h(
      "details",
      { class: "more", id: "supply" },
      h("summary", null, "How you buy and dig"),
      h(
        "div",
        { class: "pair", "data-error-for": "supply" },
        SUPPLY.map(([path, label, hint]) =>
          h(
            "div",
            { class: "field" },
            h("label", { for: idOf(path) }, label),
            h("input", { id: idOf(path), "data-path": path }),
            h("p", { class: "hint" }, hint),
          ),
        ),
      ),
    );
    this.section = h(
      "section",
      { class: "card", id: "bill", "aria-labelledby": "bill-title", hidden: true },
      h("h2", { id: "bill-title" }, "What it takes"),
      this.figures,
      this.supply,
      this.prices,
      this.cost,
    );
    before.before(this.section);
  }

  show(answer) {
    const lines = linesOf(answer).filter((line) => line.answer.quantities);
    this.section.hidden = !lines.length;
    if (!lines.length) return;
    const bills = lines.map((line) => line.answer.quantities);
    const notes = new Footnotes();
    const row = ([label, figure, basis]) =>
      h("div", null, h("dt", null, label), h("dd", null, figure, basis && h("small", null, notes.within(basis))));
    this.figures.replaceChildren(
      ...lines.map(({ name, answer: { quantities } }) =>
        h(
          "div",
          { class: "bill-line" },
          lines.length > 1 && h("h3", null, name === null ? "Main line" : `Branch ${name}`),
          h("dl", { class: "bill-list" }, rowsOf(quantities, answer.units).map(row)),
        ),
      ),
      ...notes.list,
    );
    this.#drawFields(priceFields(bills));
    this.cost.replaceChildren(...costOf(lines));
  }

  // The fields stay while the same things need a price, so that a hand can go on typing.
  #drawFields(wanted) {
    const key = JSON.stringify(wanted);
    if (key === this.#asked) return;
    this.#asked = key;
    this.form.release("prices.");
    const fields = [{ path: "prices.currency", text: "Currency" }, ...wanted].map(({ path, text, per }) => {
      const input = h("input", { id: idOf(path), "data-path": path, maxlength: path.endsWith("currency") && 8 });
      return { input, field: h("div", { class: "field" }, h("label", { for: input.id }, per ? `${text}, ${per}` : text), input) };
    });
    this.fields.replaceChildren(...fields.map(({ field }) => field));
    for (const { input } of fields) this.form.bind(input);
    this.form.show();
  }
}

// [label, figure, basis] of each part that has anything in it.
function rowsOf(bill, units) {
  const [volume, area, length, depth] = ["volume", "area", "distance", "depth"].map((quantity) => unitOf(quantity, units));
  const { trench, pipe, hours } = bill;
  const parts = (list) =>
    h(
      "ul",
      { class: "bill-parts" },
      list.map(({ count, name, why }) => h("li", null, h("b", null, `${count} × `), name, h("small", null, ` ${why}`))),
    );
  const classes =
    trench.by_depth.length > 1 &&
    h(
      "ul",
      { class: "bill-parts" },
      trench.by_depth.map((one) =>
        h(
          "li",
          null,
          `${plain(one.from, 1)}${one.to === null ? ` ${depth} and deeper` : ` to ${plain(one.to, 1)} ${depth}`} deep: ${number(one.volume)} ${volume} over ${number(one.length)} ${length}${one.width === undefined ? "" : `, ${plain(one.width, 0)} ${depth} wide`}`,
        ),
      ),
    );
  return [
    [
      "Trench",
      [
        `${number(trench.bank)} ${volume} in place, ${number(trench.loose)} ${volume} loose; ${number(trench.length)} ${length} long, ${depthText(trench.greatest_depth, units)} at the deepest`,
        classes,
      ],
      trench.basis,
    ],
    bill.protection && ["Shoring or slopes", bill.protection.text],
    ["Sod", `${number(bill.sod.area)} ${area}`, bill.sod.basis],
    bill.bedding.volume > 0 && ["Bedding", `${number(bill.bedding.volume)} ${volume}`, bill.bedding.basis],
    [
      "Soil left over",
      `${number(bill.spoil.haul)} ${volume} loose to haul off, ${number(bill.spoil.backfill)} ${volume} goes back`,
      bill.spoil.basis,
    ],
    bill.fill && ["Soil to lay", soilWords(bill.fill, volume), bill.fill.basis],
    [
      "Pipe to buy",
      `${counted(pipe.pieces, `${pipe.form}s`)} of ${number(pipe.piece_length)} ${length}, for ${number(pipe.laid)} ${length} laid`,
      pipe.basis,
    ],
    bill.fittings.length > 0 && ["Fittings", parts(bill.fittings), bill.parts_basis],
    bill.outlet_parts.length > 0 && ["At the outlet", parts(bill.outlet_parts), null],
    ["Hours of digging", hoursWords(hours), hours.basis],
  ].filter(Boolean);
}

function hoursWords({ by_hand: byHand, by_machine: byMachine, machine_name: machine }) {
  const hand = `${number(byHand)} h by hand`;
  return byMachine === null ? hand : `${hand}, or ${number(byMachine)} h with a ${machine ?? "machine"}`;
}

// The cost of every line that has one, and the whole.
function costOf(lines) {
  const costs = lines.flatMap(({ name, answer }) => (answer.quantities.cost ? [{ name, ...answer.quantities.cost }] : []));
  if (!costs.length) return [];
  const [{ currency }] = costs;
  const total = costs.reduce((sum, cost) => sum + cost.total, 0);
  const leftOut = [...new Set(costs.flatMap((cost) => cost.left_out_names))];
  return [
    framedTable(
      "Table of costs",
      ["At your prices", "How much", "Price", "Cost"],
      costs.flatMap((cost) =>
        cost.lines.map((line) => [
          [capital(line.name), costs.length > 1 && h("small", null, cost.name ?? "main line")],
          counted(line.quantity, line.unit),
          line.price.toFixed(2),
          line.amount.toFixed(2),
        ]),
      ),
      {
        look: "bases bill-table",
        caption: "Cost by your prices",
        foot: ["In all", "", "", h("td", { id: "bill-total" }, h("b", null, money(total, currency)))],
      },
    ),
    leftOut.length > 0 && h("p", { class: "bill-left-out" }, h("b", null, "Without "), `${leftOut.join(", ")}: no price given.`),
  ].filter(Boolean);
}

// Soil to lay as it will lie, and apart from that what it takes, loose.
export const soilWords = (fill, volume) =>
  `${number(fill.volume)} ${volume} in place. Loose, that takes ${number(fill.from_spoil)} ${volume} from the trench and ${number(fill.bring)} ${volume} to bring`;
