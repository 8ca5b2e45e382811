// Set-up: the forms of a plant and a trip, changes marked against their files, and the queue of runs.

import { state, shown, ask, el, showProblems, take, tell } from "./store.js";

const forms = new Map();
/** The form of a plant or trip; while its file has mistakes, its last good rows with the list of mistakes. */
export async function form(name, fresh = false, kind = "plant") {
  const key = `${kind} ${name}`;
  if (fresh || !forms.has(key)) {
    const found = await ask(`/set-up.json?${kind}=${encodeURIComponent(name)}`);
    if (!found.problems.length || !forms.has(key)) forms.set(key, found);
    else forms.set(key, { ...forms.get(key), problems: found.problems });
  }
  return forms.get(key);
}

let now = { plant: "", trip: "", changes: {}, trip_changes: {}, strategy: "table" };
const KINDS = [["plant", "changes"], ["trip", "trip_changes"]];

export async function open(home, page) {
  const first = state.runs[0];
  now.plant ||= first?.plant || page.plants[0];
  now.trip ||= first?.trip || page.trips[0];
  const pick = (label, names, value, change) => { const s = el("select", { onchange: () => change(s.value) }, ...names.map(([key, words]) => el("option", { value: key }, words))); s.value = value; return el("label", {}, label, s); };
  const trouble = el("div", { role: "alert" }), rows = el("div", { class: "rows" }), diff = el("p", { class: "diff" });
  const filter = el("input", { type: "search", placeholder: "Find a number: heater, pack, duration ...", "aria-label": "Find a number" });
  const run = el("button", { type: "button", class: "go", onclick: () => start({ ...now, base: base(now.plant, now.trip) }, trouble) }, "Run with these");
  const reset = el("button", { type: "button", onclick: () => { now.changes = {}; now.trip_changes = {}; fill(); } }, "Take changes back");
  let filled = 0;
  const fill = async () => {
    const mine = ++filled;
    const found = await Promise.all(KINDS.map(([kind]) => form(now[kind], false, kind)));
    if (mine !== filled) return; // another choice was made meanwhile; what is typed into its form stays
    showProblems(trouble, found.flatMap((one) => one.problems));
    const wanted = filter.value.toLowerCase();
    rows.replaceChildren(...found.flatMap((one, n) => {
      const list = one.rows.filter((r) => !wanted || `${r.key} ${r.owner} ${r.words}`.toLowerCase().includes(wanted));
      const tell = () => tellDiff(found);
      return list.length || !wanted ? [el("h3", {}, n ? "Trip: " : "Plant: ", one.title), one.note ? el("p", { class: "note" }, one.note) : "", ...groups(list, now[KINDS[n][1]], tell, one.kind)] : [];
    }));
    tellDiff(found);
  };
  const tellDiff = (found) => {
    const said = KINDS.flatMap(([, key], n) => Object.entries(now[key]).map(([k, v]) => `${k}: ${found[n].rows.find((r) => r.key === k)?.text || "left out"} → ${v}`));
    diff.textContent = said.length ? `Changed: ${said.join("; ")}` : "Nothing is changed against the files.";
    reset.disabled = !said.length;
  };
  const groups = (list, changes, tell, kind) => {
    const by = new Map();
    for (const r of list) by.set(r.owner, [...(by.get(r.owner) ?? []), r]);
    return [...by].map(([owner, some], n) => {
      const changed = some.filter((r) => r.key in changes).length, open = filter.value !== "" || changed > 0 || (n === 0 && kind === "plant");
      const said = some.filter((r) => r.grade !== "left out" || r.key in changes), unsaid = some.filter((r) => !said.includes(r));
      const more = unsaid.length ? [el("details", { class: "unsaid", open: filter.value !== "" || !said.length }, el("summary", {}, `${unsaid.length} more that the file leaves out`), ...unsaid.map((r) => field(r, changes, tell, kind)))] : [];
      return el("details", { open }, el("summary", {}, owner.replaceAll("_", " "), el("small", {}, ` ${some.length} number${some.length > 1 ? "s" : ""}${changed ? `, ${changed} changed` : ""}`)), ...said.map((r) => field(r, changes, tell, kind)), ...more);
    });
  };
  const field = (r, changes, tell, kind) => {
    const id = `f-${kind}-${r.key.replaceAll(".", "-")}`;
    const input = r.choices.length ? el("select", { id }, ...r.choices.map((c) => el("option", {}, c))) : el("input", { id, autocomplete: "off", spellcheck: "false", placeholder: r.text ? "" : r.unit ? `… ${r.unit}` : "left out" });
    input.value = changes[r.key] ?? r.text;
    const line = el("div", { class: "field", "data-changed": r.key in changes });
    const was = el("span", { class: "from" }, r.key in changes ? `was ${r.text || "left out"}` : "");
    input.onchange = () => {
      if (input.value.trim() && input.value.trim() !== r.text) changes[r.key] = input.value.trim(); else { delete changes[r.key]; input.value = r.text; }
      line.dataset.changed = r.key in changes;
      was.textContent = r.key in changes ? `was ${r.text || "left out"}` : "";
      tell();
      check(trouble);
    };
    line.append(el("label", { for: id }, r.words, el("small", { class: "key" }, r.key), was), input, el("span", { class: "span" }, r.span || (r.choices.length ? "" : r.unit)), el("span", { class: "grade", "data-grade": r.grade }, r.grade), el("span", { class: "source" }, r.source));
    return line;
  };
  filter.oninput = fill;
  home.replaceChildren(el("div", { class: "setup" },
    el("div", { class: "top" }, pick("Plant", page.plants.map((n) => [n, n]), now.plant, (v) => { now.plant = v; now.changes = {}; fill(); }), pick("Trip", page.trips.map((n) => [n, n]), now.trip, (v) => { now.trip = v; now.trip_changes = {}; fill(); }),
      pick("Driven by", page.strategies, now.strategy, (v) => { now.strategy = v; }), filter), diff, el("div", { class: "top" }, run, reset), trouble, rows));
  await fill();
  refill = async () => { await Promise.all(KINDS.map(([kind]) => form(now[kind], true, kind).catch(() => {}))); await fill(); };
}

/** The run that a changed one is set against: of this plant on this trip, without changes if there is such a one. */
function base(plant, trip) {
  const same = state.runs.filter((r) => r.plant === plant && r.trip === trip);
  return (same.find((r) => !Object.keys(r.changes).length && !Object.keys(r.trip_changes).length) ?? same[0] ?? shown()[0])?.id ?? "";
}

let refill = null;
export const filesChanged = async () => {
  if (state.layer === "setup" && refill) return refill();
  for (const key of forms.keys()) { const [kind, name] = [key.slice(0, key.indexOf(" ")), key.slice(key.indexOf(" ") + 1)]; await form(name, true, kind).catch(() => {}); }
  tell("layer");
};

async function check(trouble) {
  const found = await ask("/check", now).catch((e) => e);
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

/** What a run that has just come differs in from the one it was changed from, in one line. */
export async function tellDone(home, job, open) {
  const run = state.runs.find((r) => r.id === job.run), old = state.runs.find((r) => r.id === job.base);
  if (!run || !old || run === old) return;
  const found = await ask(`/compare.json?runs=${old.id},${run.id}&at=${state.at}`).catch(() => null);
  if (!found) return;
  const parts = found.whole.filter((line) => line.values[1] !== null).map((line) => el("li", {}, el("span", {}, line.words), el("b", {}, line.told[1]), el("span", {}, line.unit), line.moved[1] === "" ? "" : el("span", { class: "moved" }, /[1-9]/.test(line.moved[1]) ? line.moved[1] : "no difference")));
  const look = () => { for (const r of state.runs) r.shown = r === run || r === old; tell("runs"); open("compare"); home.replaceChildren(); };
  home.replaceChildren(el("div", { class: "difference" }, el("p", {}, el("b", {}, run.name), ` against ${old.name}`), el("ul", {}, ...parts), el("button", { type: "button", class: "go", onclick: look }, "Compare the two"), el("button", { type: "button", onclick: () => home.replaceChildren() }, "Put away")));
}

export async function whatIf(page) {
  const of = document.querySelector("#wi-plant"), key = document.querySelector("#wi-key"), value = document.querySelector("#wi-value");
  const was = document.querySelector("#wi-was"), keys = document.querySelector("#wi-keys"), trouble = document.querySelector("#trouble");
  const first = (names, of) => [...new Set([...state.runs.map((r) => r[of]).filter(Boolean), ...names])];
  of.append(el("optgroup", { label: "Plant" }, ...first(page.plants, "plant").map((n) => el("option", { value: n }, n))), el("optgroup", { label: "Trip" }, ...first(page.trips, "trip").map((n) => el("option", { value: `trip ${n}` }, n))));
  const asked = () => (of.value.startsWith("trip ") ? ["trip", of.value.slice(5)] : ["plant", of.value]);
  let found = { rows: [], problems: [] };
  const load = async () => {
    const [kind, name] = asked();
    found = await form(name, false, kind);
    keys.replaceChildren(...found.rows.map((r) => el("option", { value: r.key }, `${r.words} (${r.text || "left out"})`)));
    const usual = found.rows.find((r) => r.key === key.value) ?? found.rows.find((r) => /^heater\.power$|^pack\.heat_capacity$|^set_point$/.test(r.key)) ?? found.rows.find((r) => /power|capacity/.test(r.key));
    if (usual) key.value = usual.key;
    look();
  };
  const look = () => { const r = found.rows.find((one) => one.key === key.value.trim()); was.textContent = r ? `now ${r.text || "left out"}${r.span ? `; may be ${r.span}` : ""}` : key.value ? "no such number" : ""; value.placeholder = r?.text || "3 kW"; };
  of.onchange = () => { value.value = ""; return load(); };
  key.oninput = look;
  document.querySelector("#whatif").onsubmit = async (e) => {
    e.preventDefault();
    if (!value.value.trim()) { showProblems(trouble, [{ where: key.value, found: "no new value", expected: value.placeholder }]); value.focus(); return; }
    const [kind, name] = asked(), changes = { [key.value.trim()]: value.value.trim() };
    const plant = kind === "plant" ? name : (state.runs.find((r) => r.trip === name) ?? state.runs[0])?.plant || page.plants[0];
    const trip = kind === "trip" ? name : (state.runs.find((r) => r.plant === plant) ?? state.runs[0])?.trip || page.trips[0];
    await start({ plant, trip, [kind === "plant" ? "changes" : "trip_changes"]: changes, base: base(plant, trip) }, trouble);
  };
  await load();
}
export { take };
