// Traces: any series of the shown runs against time.  Numbers come as raw float32 and are cut to the least and the
// greatest of every pixel column before they are drawn.

import { state, on, shown, floats, go, el, clock, place, signed } from "./store.js";

const START = ["t_zone_air_k", "t_pack_hottest_k", "t_drive_housing_k", "t_ambient_k"];
const DASHES = [[], [7, 4], [2, 3], [9, 3, 2, 3]];

/** A line of the legend, dashed as the trace is. */
function sample(colour, dash) {
  if (!dash.length) return colour;
  let at = 0;
  const parts = dash.map((wide, k) => { const from = at; at += wide; return `${k % 2 ? "transparent" : colour} ${from}px ${at}px`; });
  return `repeating-linear-gradient(90deg, ${parts.join(", ")})`;
}

/** Least and greatest of every pixel column, in the order they come: [x, y]. */
export function thin(t, y, columns, from = t[0], to = t[t.length - 1]) {
  const step = (to - from) / columns || 1, xs = [], ys = [];
  let k = 0;
  while (k < t.length && t[k] < from) k++;
  for (let c = 0; c < columns && k < t.length; c++) {
    const edge = c === columns - 1 ? to + 1e-6 : from + (c + 1) * step;
    let low = k, high = k, any = false;
    for (; k < t.length && t[k] < edge; k++) { if (!any) { low = high = k; any = true; } if (y[k] < y[low] || y[low] !== y[low]) low = k; if (y[k] > y[high] || y[high] !== y[high]) high = k; }
    if (!any) continue;
    for (const at of low <= high ? [low, high] : [high, low]) { xs.push(t[at]); ys.push(y[at]); }
  }
  return [xs, ys];
}

let plots = [], chosen = null;
const kept = new Map();

async function numbers(run, name) {
  const key = `${run.id} ${name}`;
  if (!kept.has(key)) kept.set(key, floats(`/runs/${run.id}/series?names=${encodeURIComponent(name)}`));
  return kept.get(key);
}

function known() {
  const found = new Map();
  for (const run of shown()) for (const one of run.series) if (!found.has(one.name)) found.set(one.name, one);
  return found;
}

export async function open(home) {
  const all = known();
  chosen ??= START.filter((name) => all.has(name));
  const filter = el("input", { type: "search", placeholder: "Find a quantity", "aria-label": "Find a quantity" });
  const list = el("div", { class: "series" });
  const charts = el("div", { class: "charts" });
  const fill = () => {
    const wanted = filter.value.toLowerCase();
    list.replaceChildren(...[...all.values()].filter((s) => `${s.words} ${s.name} ${s.group}`.toLowerCase().includes(wanted)).sort((a, b) => chosen.includes(b.name) - chosen.includes(a.name)).slice(0, 60).map((s) => {
      const box = el("input", { type: "checkbox", onchange: () => { chosen = box.checked ? [...chosen, s.name] : chosen.filter((n) => n !== s.name); paint(charts, all); } });
      box.checked = chosen.includes(s.name);
      return el("label", {}, box, s.words, el("small", {}, ` ${s.unit}`));
    }));
  };
  filter.oninput = fill;
  fill();
  home.replaceChildren(el("div", { class: "traces" }, charts, el("details", { class: "pick", open: true }, el("summary", {}, "Quantities"), filter, list)));
  await paint(charts, all);
}

async function paint(home, all) {
  plots.forEach((one) => one.destroy());
  plots = [];
  const groups = new Map();
  for (const name of chosen) { const s = all.get(name); if (s) groups.set(s.unit, [...(groups.get(s.unit) ?? []), s]); }
  const runs = shown(), css = getComputedStyle(document.documentElement), v = (n) => css.getPropertyValue(`--hw-${n}`).trim();
  home.replaceChildren();
  for (const [unit, names] of groups) {
    const wide = Math.max(320, home.clientWidth), columns = Math.max(200, Math.floor(wide - 70)), tables = [], series = [{ label: "time", value: (u, t) => !pointed(u) ? clock(state.at) : t == null ? "–" : clock(t) }];
    for (const [n, s] of names.entries()) for (const [r, run] of runs.entries()) {
      if (!run.series.some((one) => one.name === s.name)) continue;
      const stored = await numbers(run, s.name), y = new Float64Array(stored.length);
      for (let k = 0; k < y.length; k++) y[k] = stored[k] * s.factor + s.offset;
      tables.push(thin(run.rows.t, y, columns).map((row) => row));
      series.push({ label: `${s.words}, ${run.name}`, stroke: v(`trace-${n % 6}`), width: 1.6, dash: DASHES[r % 4], sample: sample(v(`trace-${n % 6}`), DASHES[r % 4]), value: (u, x) => { const shows = pointed(u) ? x : y[place(run.rows.t, state.at)]; return Number.isFinite(shows ?? NaN) ? `${signed(shows)} ${unit}` : "–"; } });
    }
    if (!tables.length) continue;
    const data = uPlot.join(tables.map(([x, y]) => unique(x, y)));
    const options = {
      width: wide, height: 220, series, cursor: { sync: { key: "bench" } }, legend: { live: true, markers: { width: 0, fill: (u, k) => u.series[k].sample } },
      scales: { x: { time: false } },
      axes: [{ label: "time since the start, h:min", labelFont: "11px Workbench", labelSize: 16, size: 28, values: (_, ts) => ts.map((t) => clock(t).slice(0, -3)), incrs: [60, 300, 600, 1800, 3600, 7200, 14400, 21600], stroke: v("soft"), grid: { stroke: v("rule"), width: 0.5 }, ticks: { show: false }, font: "11px Workbench" },
        { label: unit, stroke: v("soft"), grid: { stroke: v("rule"), width: 0.5 }, ticks: { show: false }, size: 52, font: "11px Workbench", labelFont: "12px Workbench", labelSize: 18 }],
      hooks: { draw: [line], ready: [tellAt], setCursor: [tellAt], setSelect: [(u) => { if (u.select.width > 4) state.span = [u.posToVal(u.select.left, "x"), u.posToVal(u.select.left + u.select.width, "x")]; }] },
    };
    series.slice(1).forEach((one) => { one.spanGaps = true; });
    const made = new uPlot(options, data, home);
    made.over.addEventListener("click", (e) => { if (e.detail === 1 && made.cursor.left >= 0) go(made.posToVal(made.cursor.left, "x")); });
    plots.push(made);
  }
}

const pointed = (u) => u.cursor.left >= 0;

/** Without a pointer above it the legend tells the values at the chosen instant. */
function tellAt(u) { if (!pointed(u)) u.setLegend({ idx: 0 }, false); }

function unique(x, y) {
  const xs = [], ys = [];
  for (let k = 0; k < x.length; k++) { let t = x[k]; if (xs.length && t <= xs[xs.length - 1]) t = xs[xs.length - 1] + 1e-3; xs.push(t); ys.push(Number.isFinite(y[k]) ? y[k] : null); }
  return [xs, ys];
}

function line(u) {
  const x = Math.round(u.valToPos(state.at, "x", true)), c = u.ctx;
  if (x < u.bbox.left || x > u.bbox.left + u.bbox.width) return;
  c.save(); c.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--hw-accent"); c.fillRect(x, u.bbox.top, 2, u.bbox.height); c.restore();
}

let waits = 0;
on("time", () => { if (plots.length && state.layer === "traces" && !waits) waits = requestAnimationFrame(() => { waits = 0; plots.forEach((one) => { one.redraw(false, false); tellAt(one); }); }); });
export function close() { plots.forEach((one) => one.destroy()); plots = []; }
