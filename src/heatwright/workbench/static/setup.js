// Set-up: the form of a plant, changes marked against its file, and the queue of runs.

import { state, ask, el, showProblems, take } from "./store.js";

const forms = new Map();
export async function form(plant, fresh = false) {
  if (fresh || !forms.has(plant)) {
    const found = await ask(`/set-up.json?plant=${encodeURIComponent(plant)}`);
    if (!found.problems.length || !forms.has(plant)) forms.set(plant, found);
    else forms.set(plant, { ...forms.get(plant), problems: found.problems });
  }
  return forms.get(plant);
}

let now = { plant: "", trip: "", changes: {}, strategy: "table" };

export async function open(home, page) {
  const first = state.runs[0];
  now.plant ||= first?.plant || page.plants[0];
  now.trip ||= first?.trip || page.trips[0];
  const pick = (label, names, value, change) => { const s = el("select", { onchange: () => change(s.value) }, ...names.map((n) => el("option", {}, n))); s.value = value; return el("label", {}, label, s); };
  const trouble = el("div", { role: "alert" }), rows = el("div", { class: "rows" }), diff = el("p", { class: "diff" });
  const filter = el("input", { type: "search", placeholder: "Find a number: heater, pack, fan ...", "aria-label": "Find a number" });
  const run = el("button", { type: "button", class: "go", onclick: () => start(now, trouble) }, "Run with these");
  const reset = el("button", { type: "button", onclick: () => { now.changes = {}; fill(); } }, "Take changes back");
  const fill = async () => {
    const found = await form(now.plant);
    showProblems(trouble, found.problems);
    const wanted = filter.value.toLowerCase();
    const list = found.rows.filter((r) => !wanted || `${r.key} ${r.words}`.toLowerCase().includes(wanted));
    rows.replaceChildren(...groups(list, found));
    tellDiff(found);
  };
  const tellDiff = (found) => {
    const said = Object.entries(now.changes).map(([k, v]) => `${k}: ${found.rows.find((r) => r.key === k)?.text ?? "?"} → ${v}`);
    diff.textContent = said.length ? `Changed: ${said.join("; ")}` : "Nothing is changed against the file.";
    reset.disabled = !said.length;
  };
  const groups = (list, found) => {
    const by = new Map();
    for (const r of list) by.set(r.owner, [...(by.get(r.owner) ?? []), r]);
    return [...by].map(([owner, some], n) => {
      const changed = some.filter((r) => r.key in now.changes).length;
      return el("details", { open: filter.value !== "" || changed > 0 || n === 0 }, el("summary", {}, owner.replaceAll("_", " "), el("small", {}, ` ${some.length} numbers${changed ? `, ${changed} changed` : ""}`)), ...some.map((r) => field(r, found)));
    });
  };
  const field = (r, found) => {
    const id = `f-${r.key.replaceAll(".", "-")}`;
    const input = r.choices.length ? el("select", { id }, ...r.choices.map((c) => el("option", {}, c))) : el("input", { id, autocomplete: "off", spellcheck: "false" });
    input.value = now.changes[r.key] ?? r.text;
    const line = el("div", { class: "field", "data-changed": r.key in now.changes });
    input.onchange = () => {
      if (input.value.trim() && input.value.trim() !== r.text) now.changes[r.key] = input.value.trim(); else { delete now.changes[r.key]; input.value = r.text; }
      line.dataset.changed = r.key in now.changes;
      tellDiff(found);
      check(trouble);
    };
    line.append(el("label", { for: id }, r.words), input, el("span", { class: "span" }, r.span || (r.choices.length ? "" : r.unit)), el("span", { class: "grade", "data-grade": r.grade }, r.grade), el("span", { class: "source" }, r.source));
    return line;
  };
  filter.oninput = fill;
  home.replaceChildren(el("div", { class: "setup" },
    el("div", { class: "top" }, pick("Plant", page.plants, now.plant, (v) => { now.plant = v; now.changes = {}; fill(); }), pick("Trip", page.trips, now.trip, (v) => { now.trip = v; }),
      pick("Driven by", ["table", "dispatch"], now.strategy, (v) => { now.strategy = v; }), filter), diff, el("div", { class: "top" }, run, reset), trouble, rows));
  home.dataset.refill = "1";
  await fill();
  refill = async () => { await form(now.plant, true).catch(() => {}); await fill(); };
}

let refill = null;
export const filesChanged = async () => { if (state.layer === "setup" && refill) await refill(); else forms.clear(); };

async function check(trouble) {
  const found = await ask("/check", { plant: now.plant, changes: now.changes }).catch((e) => e);
  showProblems(trouble, found.problems);
}

export async function start(order, trouble) {
  try { await ask("/runs", order); showProblems(trouble, []); return true; } catch (e) { showProblems(trouble, e.problems ?? [{ where: "page", found: String(e) }]); return false; }
}

export function showJobs(home, jobs) {
  const live = jobs.filter((j) => !["done", "cancelled"].includes(j.state) && !j.dismissed && !gone.has(j.id));
  home.replaceChildren(...live.map((job) => {
    const words = { waiting: "waits", running: job.said && !job.share ? job.said : "runs", failed: "failed" }[job.state];
    const out = el("div", { class: "job", "data-state": job.state }, el("b", {}, job.name), ` ${words} `);
    if (job.state === "failed") {
      for (const one of job.problems) out.append(el("span", { class: "reason" }, `${one.where ? one.where + ": " : ""}${one.found}`));
      out.append(el("button", { type: "button", onclick: () => { gone.add(job.id); out.remove(); } }, "Put away"));
    } else {
      out.append(el("progress", { max: 1, value: job.share, "aria-label": `${job.name}, share done` }), el("button", { type: "button", class: "cancel", onclick: () => ask(`/jobs/${job.id}/cancel`, {}).catch(() => {}) }, "Stop"));
    }
    return out;
  }));
}
const gone = new Set();

export async function whatIf(page) {
  const plant = document.querySelector("#wi-plant"), key = document.querySelector("#wi-key"), value = document.querySelector("#wi-value");
  const was = document.querySelector("#wi-was"), keys = document.querySelector("#wi-keys"), trouble = document.querySelector("#trouble");
  const used = [...new Set([...state.runs.map((r) => r.plant).filter(Boolean), ...page.plants])];
  plant.append(...used.map((n) => el("option", { value: n }, n)));
  let found = { rows: [], problems: [] };
  const load = async () => {
    found = await form(plant.value);
    keys.replaceChildren(...found.rows.map((r) => el("option", { value: r.key }, `${r.words} (${r.text})`)));
    const usual = found.rows.find((r) => r.key === key.value) ?? found.rows.find((r) => /^heater\.power$|^pack\.heat_capacity$/.test(r.key)) ?? found.rows.find((r) => /power|capacity/.test(r.key));
    if (usual) key.value = usual.key;
    look();
  };
  const look = () => { const r = found.rows.find((one) => one.key === key.value.trim()); was.textContent = r ? `now ${r.text}${r.span ? `; may be ${r.span}` : ""}` : key.value ? "no such number" : ""; value.placeholder = r?.text || "3 kW"; };
  plant.onchange = load;
  key.oninput = look;
  document.querySelector("#whatif").onsubmit = async (e) => {
    e.preventDefault();
    if (!value.value.trim()) { showProblems(trouble, [{ where: key.value, found: "no new value", expected: value.placeholder }]); value.focus(); return; }
    const trip = state.runs.find((r) => r.plant === plant.value)?.trip || state.runs[0]?.trip || page.trips[0];
    await start({ plant: plant.value, trip, changes: { [key.value.trim()]: value.value.trim() } }, trouble);
  };
  await load();
}
export { take };
