// The address of what is looked at: /layers/NAME?runs=r0,r1&at=2700.  Loaded again, or given to someone else, it shows
// the same; its twin for programs has the same address with .json behind the name.

import { state, shown, on } from "./store.js";

/** What the address asks for: layer, ids of runs, instant, span and level; null where it says nothing. */
export function read() {
  const layer = /^\/layers\/([a-z]+)$/.exec(location.pathname)?.[1] ?? null, said = new URLSearchParams(location.search);
  const number = (key) => (said.has(key) && Number.isFinite(Number(said.get(key))) ? Number(said.get(key)) : null);
  const from = number("from"), to = number("to");
  return { layer, runs: said.get("runs")?.split(",").filter(Boolean) ?? null, at: number("at"), span: from !== null && to > from ? [from, to] : null, level: said.get("level") };
}

/** Lay what an address asked for over what is shown. */
export function apply(wanted) {
  if (wanted.runs?.some((id) => state.runs.some((run) => run.id === id))) {
    const some = wanted.runs.slice(0, 4);
    for (const run of state.runs) run.shown = some.includes(run.id);
  }
  if (wanted.at !== null) state.at = Math.min(Math.max(wanted.at, 0), state.end);
  state.span = wanted.span;
  if (["idea", "loops", "plumbing", "temperatures"].includes(wanted.level)) state.level = wanted.level;
}

export function query() {
  const said = [`runs=${shown().map((run) => run.id).join(",")}`, `at=${+state.at.toFixed(1)}`];
  if (state.span && state.layer === "heat") said.push(`from=${state.span[0].toFixed(0)}`, `to=${state.span[1].toFixed(0)}`);
  if (state.layer === "sheet") said.push(`level=${state.level}`);
  return said.join("&");
}

/** Write the address; a layer newly opened is a step that Back undoes. */
export function write(step = false) {
  if (!state.layer) return;
  const to = `/layers/${state.layer}?${query()}`;
  if (step && location.pathname !== `/layers/${state.layer}`) history.pushState(null, "", to); else history.replaceState(null, "", to);
  const name = document.querySelector(`#tab-${state.layer}`)?.textContent;
  document.title = `${name}, ${document.querySelector("h1").textContent}: Heatwright`;
}

let waits = 0;
const later = () => { clearTimeout(waits); waits = setTimeout(write, 250); };
on("time", later);
on("runs", later);
