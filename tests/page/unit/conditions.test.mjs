// What a yes rests on: insisting on a usual value, taking what was taken, and the other way.
import assert from "node:assert/strict";
import { test } from "node:test";
import {
  acceptWords,
  conditionsOf,
  insistWords,
  takenValues,
  withOneChange,
  withPatch,
} from "../../../frontend/model/changes/conditions.js";
import { blankDocument, withValue } from "../../../frontend/model/document/document.js";
import { withBranch } from "../../../frontend/model/document/line_items.js";
import { buildRequest } from "../../../frontend/model/request/request.js";

const BLANK = { id: "blank", route_crs: "local" };
const RUN_OUT = {
  code: "run_out",
  pointer: "/limits/outlet_taper",
  usual: 10,
  taken: 60,
  from_at: 0,
  to_at: 60,
  text: "Thin.",
  accepts: { limits: { outlet_taper: 60, run_out_cover: 2 } },
  insists: { limits: { outlet_taper: 10 } },
};
const DITCH = {
  code: "ditch",
  pointer: "/outlet/depth/max",
  usual: 4.8,
  taken: 5.833333,
  text: "A ditch.",
  accepts: { outlet: { depth: { min: 0, max: 5.833333 } } },
  insists: { outlet: { depth: { min: 0, max: 4.8 } } },
};
const CHANGE = {
  code: "grade_change",
  pointer: "/grade/shape",
  usual: "straight",
  taken: "least_dig",
  text: "It bends.",
  accepts: { grade: { shape: "least_dig", max_breaks: 1 } },
  insists: { grade: { shape: "straight" } },
};
const SMALL = {
  code: "pipe_too_small",
  pointer: "/pipe",
  usual: null,
  taken: null,
  text: "Too small.",
  accepts: { pipe: { code: "pvc-drain-6" } },
  insists: null,
};

function filled() {
  const typed = {
    "level_line.rows.0.at": "0",
    "level_line.rows.0.down": "9",
    "level_line.rows.1.at": "60",
    "level_line.rows.1.down": "38",
  };
  return Object.entries(typed).reduce((plan, [path, value]) => withValue(plan, path, value), blankDocument());
}

test("insisting states the usual value, taking states what was taken, both to the last digit", () => {
  const ask = (patch) => buildRequest(withPatch(filled(), patch), BLANK).body;
  assert.deepEqual(ask(RUN_OUT.insists).limits, { outlet_taper: 10 });
  assert.deepEqual(ask(RUN_OUT.accepts).limits, { outlet_taper: 60, run_out_cover: 2 });
  assert.deepEqual(ask(DITCH.accepts).outlet, { kind: "pop_up", depth: { min: 0, max: 5.833333 } });
  assert.deepEqual(ask(CHANGE.insists).grade, { shape: "straight" });
  assert.deepEqual(ask(CHANGE.accepts).grade, { max_breaks: 1, shape: "least_dig" });
  assert.equal(ask(SMALL.accepts).pipe.code, "pvc-drain-6");
  assert.equal(withPatch(filled(), { head: { margin: 1 } }), null);
  assert.equal(withPatch(filled(), null), null);
});

test("a branch's conditions change its own fields", () => {
  const { plan, key } = withBranch(filled(), "taped");
  const conditions = (list) => ({ answer: { conditions: list }, branches: [] });
  const answer = {
    ...conditions([RUN_OUT]),
    branches: [
      { name: "A", ...conditions([CHANGE]) },
      { name: "Z", ...conditions([DITCH]) },
    ],
  };
  assert.deepEqual(
    conditionsOf(answer, plan).map((one) => [one.line, one.key, one.condition.code]),
    [
      [null, "", "run_out"],
      ["A", key, "grade_change"],
      ["Z", null, "ditch"],
    ],
  );
  const insisted = withPatch(plan, CHANGE.insists, key);
  assert.deepEqual([insisted.branches.rows[0].shape, insisted.grade.shape], ["straight", ""]);
  assert.equal(withPatch(plan, RUN_OUT.accepts, key).branches.rows[0].run_out_cover, "2");
  assert.equal(withPatch(plan, DITCH.insists, key), null); // where a branch ends is no field of its own
  assert.equal(withPatch(plan, DITCH.insists, null), null);
});

test("one change of grade instead keeps every usual value that it spares", () => {
  const other = withOneChange(filled(), [RUN_OUT, DITCH], "");
  assert.deepEqual(
    [other.limits.outlet_taper, other.outlet.max, other.grade.shape, other.grade.max_breaks],
    ["10", "4.8", "least_dig", "1"],
  );
  assert.equal(withOneChange(filled(), [RUN_OUT, CHANGE], ""), null); // it changes already
  assert.equal(withOneChange(filled(), [SMALL], ""), null); // nothing that a grade could spare
  assert.equal(withOneChange(withValue(filled(), "grade.shape", "straight"), [RUN_OUT], ""), null); // as stated
});

test("what the presses say, and what an empty field then holds", () => {
  assert.equal(insistWords(RUN_OUT, "us"), "Insist on thin cover over the usual 10 ft only");
  assert.equal(insistWords(DITCH, "us"), "Insist on the usual depth of 4.8 in at the outlet");
  const finer = { ...DITCH, usual: 10.21 }; // the sentence beside it says 10.2 in
  assert.equal(insistWords(finer, "us"), "Insist on the usual depth of 10.2 in at the outlet");
  assert.equal(insistWords(CHANGE, "us"), "Insist on one straight grade");
  const deep = { code: "deep", usual: null, taken: 70, insists: { limits: { max_depth: 60 } }, accepts: { limits: { max_depth: 70 } } };
  assert.equal(insistWords(deep, "us"), "Insist on no deeper than 60 in");
  assert.equal(insistWords(SMALL, "us"), null);
  assert.equal(
    acceptWords(SMALL, (code) => `the ${code}`),
    "Try the pvc-drain-6",
  );
  assert.equal(acceptWords(RUN_OUT), "Take it as it is");
  assert.deepEqual(takenValues({ conditions: [RUN_OUT, CHANGE, deep] }), [["/limits/outlet_taper", 60]]);
});
