// While readings are still coming in: what can be asked already, and how the answer is to be told.
import { isBlankRow } from "../document/columns.js";
import { lastStation } from "../document/tables.js";
import { isBlank } from "../units/entry.js";
import { stationLabel } from "../units/units.js";

const READ_ALONG = ["level_line", "rod", "elevations"];
const PLACED = ["crossings", "inflows", "covers", "fills", "branches"];

// {body, words}: the request for the run as far as it was read, where its length was typed and reads
// further; `words` lead in the sentence of its answer, null where all is in.
export function soFar(plan, { body, unfinished }) {
  const last = body && READ_ALONG.includes(plan.ground) && body.route.length ? lastStation(plan, plan.ground) : null;
  if (!last || last >= body.route.length || placedBeyond(body, last))
    return { body, words: body && lacking(plan, unfinished) ? "So far" : null };
  const [to, of] = [last, body.route.length].map((at) => stationLabel(at, plan.units));
  return { body: { ...body, route: { ...body.route, length: last } }, words: `So far, read to ${to} of ${of}` };
}

// Whether a row lacks something, other than a last one that so far has nothing but its station, which the
// page itself may have filled in.
function lacking(plan, unfinished) {
  return unfinished.some((path) => {
    const [sheet, , i] = path.split(".");
    const [row, ...after] = plan[sheet].rows.slice(Number(i));
    const alone = Object.entries(row).every(([column, entry]) => column === "at" || isBlank(entry));
    return !alone || after.some((other) => !isBlankRow(other));
  });
}

// Whether anything stands on the line beyond a station.
function placedBeyond(body, last) {
  const ends = PLACED.flatMap((name) => (body[name] ?? []).map((one) => one.to ?? one.joins_at ?? one.at));
  return [...ends, ...(body.stations?.at ?? [])].some((at) => at > last);
}

// A sentence that begins with its verdict, told as one that holds so far.
export const toldSoFar = (words, sentence) => (words ? `${words}: ${sentence[0].toLowerCase()}${sentence.slice(1)}` : sentence);
