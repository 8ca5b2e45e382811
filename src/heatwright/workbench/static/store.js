// What all parts of the page share: runs with their numbers, the chosen instant, and who wants to hear of changes.

export const state = { runs: [], at: 0, end: 1, layer: "", span: null, level: "idea" };
const hearers = { time: [], runs: [], layer: [] };

export const on = (what, hear) => hearers[what].push(hear);
export const tell = (what) => hearers[what].forEach((hear) => hear());

const token = document.querySelector("meta[name=heatwright-token]").content;

/** JSON of an address; on a refusal throws an object with `problems`. */
export async function ask(path, body) {
  const how = body === undefined ? {} : {
    method: "POST", body: JSON.stringify(body),
    headers: { "content-type": "application/json", "x-heatwright-token": token },
  };
  let answer;
  try { answer = await fetch(path, how); } catch { throw { problems: [{ where: "workbench", found: "the server does not answer; start heatwright open again" }] }; }
  const said = await answer.json().catch(() => ({ problems: [{ where: "workbench", found: "the answer could not be read" }] }));
  if (!answer.ok) throw said;
  return said;
}

export async function floats(path) {
  const answer = await fetch(path);
  if (!answer.ok) throw await answer.json();
  return new Float32Array(await answer.arrayBuffer());
}

const coming = new Map();

/** Fetch a run and put it among the four shown; a new one takes the place of the last of them. */
export async function take(id, fresh = false) {
  if (coming.has(id) || state.runs.some((one) => one.id === id)) return coming.get(id);
  const work = lay(id, fresh);
  coming.set(id, work);
  try { await work; } finally { coming.delete(id); }
}

async function lay(id, fresh) {
  const [run, all] = await Promise.all([ask(`/runs/${id}.json`), floats(`/runs/${id}.f32`)]);
  run.rows = {};
  let from = 0;
  for (const { key, count } of run.columns) { run.rows[key] = all.subarray(from, from + count); from += count; }
  const now = shown();
  if (fresh && now.length >= 4) now[3].shown = false;
  run.shown = fresh || now.length < 4;
  state.runs.push(run);
  state.runs.sort((a, b) => Number(a.id.slice(1)) - Number(b.id.slice(1)));
  state.end = Math.max(...state.runs.map((one) => one.end_s));
  tell("runs");
  tell("time");
}

export const shown = () => state.runs.filter((one) => one.shown);

export function go(at) {
  const next = Math.min(Math.max(at, 0), state.end);
  if (next === state.at) return;
  state.at = next;
  tell("time");
}

/** Last place of `times` that is not after `t`. */
export function place(times, t) {
  let low = 0, high = times.length - 1;
  while (low < high) { const mid = (low + high + 1) >> 1; if (times[mid] <= t + 1e-3) low = mid; else high = mid - 1; }
  return low;
}

export const clock = (t) => `${Math.floor(t / 3600)}:${String(Math.floor(t / 60) % 60).padStart(2, "0")}:${String(Math.floor(t % 60)).padStart(2, "0")}`;
export const signed = (v, digits = 1) => Number.isFinite(v) ? v.toFixed(digits).replace("-", "−").replace(/^−(0(\.0*)?)$/, "$1") : "–";
export const modeAt = (run, t) => run.modes[run.mode_starts[place(run.mode_starts.map((m) => m[0]), t)]?.[1]] ?? "valves on their way";
export function el(tag, attrs = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [k, v] of Object.entries(attrs)) if (k.startsWith("on")) made[k] = v; else if (v !== false && v != null) made.setAttribute(k, v === true ? "" : v);
  made.append(...inside);
  return made;
}
export function showProblems(where, problems) {
  where.replaceChildren();
  if (!problems?.length) return;
  const list = el("ul", { class: "problems" });
  for (const one of problems) {
    const li = el("li", {}, el("b", {}, one.where || "here"), `: ${one.found}`);
    if (one.expected) li.append(`; expected ${one.expected}`);
    if (one.hint) li.append(el("span", { class: "hint" }, ` Try: ${one.hint}`));
    list.append(li);
  }
  where.append(list);
}
