// Plans a drain by the types that were generated from the contract: node use_types.js ADDRESS RASTER.
// Checked by tsc --strict together with those types.
import { readFile } from "node:fs/promises";
import createClient from "openapi-fetch";
import type { components, paths } from "./api.js";

type Schemas = components["schemas"];
type Answer<T> = { data?: T; error?: Schemas["ProblemBody"]; response: Response };

const [address = "", raster = ""] = process.argv.slice(2);
const client = createClient<paths>({ baseUrl: address });

function hold(told: boolean, what: string): asserts told {
  if (!told) throw new Error(what);
}

function given<T>({ data, error, response }: Answer<T>, status = 200): T {
  hold(response.status === status && data !== undefined, `${response.status}: ${error?.detail}`);
  return data;
}

// One part named `file`, as the contract has it; openapi-typescript writes a binary part as a string.
const parts = (body: { file: string }) => {
  const form = new FormData();
  form.append("file", body.file as unknown as Blob, "yard.tif");
  return form;
};
const file = new Blob([await readFile(raster)], { type: "image/tiff" }) as unknown as string;
const ground = given(await client.POST("/api/v1/rasters", { body: { file }, bodySerializer: parts }), 201);

const request: Schemas["PlanBody"] = {
  units: "si",
  route: {
    line: {
      type: "LineString",
      coordinates: [
        [512000, 4705035],
        [512020, 4705015],
      ],
    },
    crs: "EPSG:26915",
  },
  ground: { kind: "raster", raster: ground.id, vertical_unit: "m" },
  pipe: { code: "corrugated-single-4" },
  start: { cover: 200 },
  outlet: { kind: "daylight" },
};
const plan = given(await client.POST("/api/v1/plan", { body: request }));
const verdict: "yes" | "too_close" | "no" = plan.answer.verdict;
hold(["yes", "too_close", "no"].includes(verdict), verdict);
hold(plan.stations.at(-1)?.at === plan.length, "the last station is the end");

const body: Schemas["JobBody"] = { name: "Generated", request };
const once = { header: { "Idempotency-Key": "three" } };
const job = given(await client.POST("/api/v1/jobs", { params: once, body }), 201);
const again = given(await client.POST("/api/v1/jobs", { params: once, body }), 201);
hold(again.id === job.id, "made once");
hold(job.answer?.answer.sentence === plan.answer.sentence, "kept with its answer");

const path = { id: job.id };
const seen = { path, header: { "If-Match": job.etag } };
const saved = given(await client.PUT("/api/v1/jobs/{id}", { params: seen, body }));
hold(saved.revision === 2, "a second revision");
const late = await client.PUT("/api/v1/jobs/{id}", { params: seen, body });
hold(late.response.status === 412 && late.error?.type.endsWith("/saved-meanwhile") === true, "a conflict");
const params = { path, header: { "If-None-Match": saved.etag } };
const same = await client.GET("/api/v1/jobs/{id}", { params });
hold(same.response.status === 304, "not told again");

const as_dug: Schemas["DugByDepth"][] = [{ at: 0, depth: 300 }];
const check = given(await client.POST("/api/v1/grade-check", { body: { plan: request, as_dug } }));
hold(check.verdict !== "pass", check.sentence);
const kept = await client.POST("/api/v1/jobs/{id}/grade-checks", { params: { path }, body: { as_dug } });
hold(given(kept, 201).answer.sentence === check.sentence, "kept with its answer");

const sheet = await client.GET("/api/v1/jobs/{id}/dig-sheet.pdf", { params: { path }, parseAs: "arrayBuffer" });
const bytes = new Uint8Array(sheet.data as ArrayBuffer);
hold(new TextDecoder().decode(bytes.slice(0, 5)) === "%PDF-", "a PDF");

const wrong = await client.POST("/api/v1/plan", { body: { ...request, start: { cover: 2_000_000 } } });
hold(wrong.error?.errors[0]?.code === "out_of_range", "a fault with its code");
