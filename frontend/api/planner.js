// The planner's calls that keep no job.
import { call, ranOut } from "./call.js";

const AGAIN_S = 5;
const GETTING_READY =
  "The planner is getting ready, as it does once after it was installed. This page goes on asking by itself until it is ready.";

// POST /plan: {answer} or {problem}, with `again_ms` where the planner is busy (or makes ready after
// its start) and says when to ask again; rejects when it cannot be reached. `brief` leaves
// out what would mend the plan.
export const askPlan = (body, signal, { brief }) => ask("plan", brief ? { ...body, explain: false } : body, signal);

// POST /reach, answered as by `askPlan`; `brief` asks for the map alone, without routes or chances.
export const askReach = (body, signal, { brief }) => ask("reach", brief ? { ...body, routes: 0, draws: 0 } : body, signal);

// POST /grade-check, POST /compare and POST /pipe-check, answered likewise.
export const askCheck = (body, signal) => ask("grade-check", body, signal);
export const askPipeCheck = (body, signal) => ask("pipe-check", body, signal);
export const askComparison = (body, signal) => ask("compare", body, signal);

async function ask(name, body, signal) {
  const response = await call(name, { method: "POST", body, signal });
  const content = await response.json();
  if (response.ok) return { answer: content };
  const wait_s = Number(response.headers.get("Retry-After"));
  // A sum that ran out of time while the planner makes ready is worked out once it is ready.
  if (response.status === 503 && (await isGettingReady())) {
    return { problem: { ...content, errors: [], detail: GETTING_READY }, again_ms: 1000 * Math.min(wait_s || AGAIN_S, AGAIN_S) };
  }
  return wait_s > 0 && !ranOut(content) ? { problem: content, again_ms: 1000 * wait_s } : { problem: content };
}

// POST /papers/<name>: {file, called}, the file and the name it goes by. Throws with the reason where the planner refuses.
export const fetchPaper = (name, body) => paper(name, call(`papers/${name}`, { method: "POST", body }));

// The same of a job as one of its revisions was kept, with what stands at the head of the paper.
export const fetchKeptPaper = (name, { id, revision }, head) =>
  paper(name, call(`jobs/${id}/${name}?${new URLSearchParams({ ...head, revision })}`));

export async function paper(name, asked) {
  const response = await asked.catch(() => {
    throw new Error("The planner cannot be reached; nothing was written.");
  });
  if (response.ok) return { file: await response.blob(), called: nameOf(response) ?? name };
  const problem = await response.json();
  throw new Error(problem.detail || problem.title);
}

// The name that a file is sent under, in its own letters where it has other than ASCII (RFC 8187).
function nameOf(response) {
  const told = response.headers.get("Content-Disposition") ?? "";
  const full = /filename\*=UTF-8''([^;]+)/.exec(told)?.[1];
  return full ? decodeURIComponent(full) : /filename="([^"]+)"/.exec(told)?.[1];
}

// Whether the planner is still making itself ready, as it does once after it was installed.
export const isGettingReady = () =>
  fetch("/api/v1/health")
    .then((response) => response.json())
    .then(({ getting_ready }) => getting_ready)
    .catch(() => false);

export async function fetchDemo() {
  const response = await fetch("/demo.json");
  if (!response.ok) throw new Error(`/demo.json answered ${response.status}`);
  return response.json();
}

export const fetchPipes = async (units) => (await send(`pipes?units=${units}`)).pipes;

export const fetchRasters = () => remembered("rasters");

export const fetchPageSettings = () => send("page-settings");

export const fetchSitePlans = () => remembered("site_plans");

// A list of what the planner keeps; while it cannot be reached, the list as it last was.
async function remembered(name) {
  const key = `yardfall.${name}.1`;
  try {
    const list = (await send(`${name.replace("_", "-")}?page_size=200`))[name];
    localStorage.setItem(key, JSON.stringify(list));
    return list;
  } catch (error) {
    const kept = error instanceof TypeError ? localStorage.getItem(key) : null; // no answer at all
    if (!kept) throw error;
    return JSON.parse(kept);
  }
}

// Send an elevation raster (a GeoTIFF file) and get its facts back. Throws with the reason where
// it is refused.
export const uploadRaster = (file) => upload("rasters", file);

// Send a picture or one page of a PDF and get the site plan's facts back. Throws with the reason
// where it is refused.
export const uploadSitePlan = (file, page) => upload(page ? `site-plans?page=${page}` : "site-plans", file);

// What else is asked of them is in ground.js.
export const fetchSources = async () => (await send("sources")).sources;

// Tell the planner how a site plan lies. Throws with the reason where it refuses.
export const placeSitePlan = (id, placement) => send(`site-plans/${id}/placement`, { method: "PUT", body: placement });

// Forget an uploaded file. Throws with the reason where the planner does not; one that is gone already
// is forgotten too.
export const removeRaster = (id) => remove(`rasters/${id}`);
export const removeSitePlan = (id) => remove(`site-plans/${id}`);

async function remove(path) {
  const response = await call(path, { method: "DELETE" }).catch(() => {
    throw new Error("the planner cannot be reached.");
  });
  if (response.ok || response.status === 404) return;
  const problem = await response.json();
  throw new Error(problem.detail || problem.title);
}

function upload(path, file) {
  const form = new FormData();
  form.append("file", file);
  return send(path, { method: "POST", form });
}

export async function send(path, options) {
  const response = await call(path, options);
  const content = await response.json();
  if (!response.ok) throw new Error(content.detail || content.title);
  return content;
}
