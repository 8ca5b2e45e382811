// Layers that open beneath the frame: each asks the server for its pictures and tables at the chosen instant.

import { state, on, shown, ask, el, clock, go, tell, showProblems } from "./store.js";
import * as traces from "./traces.js";
import * as setup from "./setup.js";
import * as sheet from "./sheet.js";

let page, home, tabs, waits = 0, asked = 0, level = "idea";

export function begin(of, place, list) {
  page = of; home = place; tabs = [...list.querySelectorAll("[role=tab]")];
  tabs[0].tabIndex = 0;
  for (const tab of tabs) tab.onclick = () => open(tab.dataset.layer);
  list.onkeydown = (e) => {
    const k = tabs.indexOf(document.activeElement), to = { ArrowRight: k + 1, ArrowLeft: k - 1, Home: 0, End: tabs.length - 1 }[e.key];
    if (k < 0 || to === undefined) return;
    e.preventDefault();
    const next = tabs[(to + tabs.length) % tabs.length];
    tabs.forEach((t) => { t.tabIndex = t === next ? 0 : -1; });
    next.focus();
  };
  on("time", () => { if (follows()) { clearTimeout(waits); waits = setTimeout(fill, 120); } });
  on("layer", fill);
  on("runs", fill);
}

const follows = () => ["sheet", "cycle", "why", "compare"].includes(state.layer);

export function open(key) {
  if (state.layer === "traces" && key !== "traces") traces.close();
  state.layer = key;
  for (const tab of tabs) { const yes = tab.dataset.layer === key; tab.setAttribute("aria-selected", yes); tab.tabIndex = yes ? 0 : -1; }
  home.setAttribute("aria-labelledby", `tab-${key}`);
  home.replaceChildren(el("p", { class: "wait" }, "…"));
  history.replaceState(null, "", `#${key}`);
  return fill();
}

export async function fill() {
  const key = state.layer, mine = ++asked;
  if (!key) return;
  try {
    if (key === "traces") await traces.open(home);
    else if (key === "setup") { if (!home.querySelector(".setup")) await setup.open(home, page); }
    else if (key === "scenes") await scenes(mine);
    else if (key === "report") report();
    else if (key === "compare") await compare(mine);
    else await pictures(key, mine);
  } catch (e) {
    if (mine !== asked) return;
    const box = el("div", { role: "alert" });
    home.replaceChildren(box);
    showProblems(box, e.problems ?? [{ where: "page", found: String(e) }]);
  }
  if (mine === asked) document.documentElement.dataset.ready = key;
}

const ids = () => shown().map((r) => r.id).join(",");
const question = (key) => el("h2", { class: "question" }, page.layers.find((l) => l[0] === key)[2]);

function table({ caption, head, rows }) {
  return el("details", { class: "twin" }, el("summary", {}, "As a table"), el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": caption }, el("table", {}, el("caption", {}, caption),
    el("thead", {}, el("tr", {}, ...head.map((h) => el("th", { scope: "col" }, h || "·")))),
    el("tbody", {}, ...rows.map((r) => el("tr", {}, ...r.map((c, k) => k ? el("td", {}, c) : el("th", { scope: "row" }, c))))))));
}

async function pictures(key, mine) {
  const span = key === "heat" && state.span ? `&from=${state.span[0]}&to=${state.span[1]}` : "";
  const found = await ask(`/layers/${key}.json?runs=${ids()}&at=${state.at}${span}&level=${level}`);
  if (mine !== asked) return;
  const parts = [question(key)];
  if (key === "heat") parts.push(el("p", { class: "note" }, state.span ? `From ${clock(state.span[0])} to ${clock(state.span[1])}. ` : "The whole trip; a span dragged in the traces narrows it. ", state.span ? el("button", { type: "button", onclick: () => { state.span = null; fill(); } }, "The whole trip") : ""));
  if (key === "sheet") parts.push(el("p", { class: "note", role: "group", "aria-label": "Level of the sheet" }, ...["idea", "loops", "plumbing", "temperatures"].map((one) => el("button", { type: "button", "aria-pressed": String(one === level), onclick: () => { level = one; fill(); } }, { idea: "The idea", loops: "The loops", plumbing: "The plumbing", temperatures: "Every temperature" }[one]))));
  if (found.sorry) parts.push(el("p", { class: "sorry" }, found.sorry + "."));
  const shelf = el("div", { class: "shelf", "data-count": found.pictures.length });
  for (const one of found.pictures) {
    const frame = el("div", { class: "drawing" });
    frame.innerHTML = one.svg; // drawn by this program; its words are escaped there
    const figure = el("figure", {}, frame, el("figcaption", {}, one.name), one.table ? table(one.table) : "");
    shelf.append(figure);
    if (one.run) sheet.dress(figure, one, level === "plumbing", fill);
  }
  const held = sheet.held(home);
  home.replaceChildren(...parts, shelf);
  sheet.hold(home, held);
}

async function compare(mine) {
  const found = await ask(`/compare.json?runs=${ids()}&at=${state.at}`);
  if (mine !== asked) return;
  const lines = (caption, rows) => el("table", { class: "sides" }, el("caption", {}, caption), el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "figure"), el("th", { scope: "col" }, "unit"), ...found.names.map((n) => el("th", { scope: "col" }, n)))),
    el("tbody", {}, ...rows.map((r) => el("tr", {}, ...r.cells.map((c, k) => k ? el("td", {}, c) : el("th", { scope: "row" }, c))))));
  home.replaceChildren(question("compare"), el("p", { class: "note" }, "In brackets: the difference from the first. One march says what differs, not whether it is beyond doubt: ", el("code", {}, "heatwright compare"), " marches draws of the unknowns and gives verdicts."),
    el("div", { class: "shelf" }, lines(`At ${clock(found.at_s)}`, found.now), lines("Over the whole trip", found.whole)));
}

async function scenes(mine) {
  const { scenes: list } = await ask("/scenes.json");
  if (mine !== asked) return;
  const show = (one) => { for (const r of state.runs) r.shown = one.runs.includes(r.id); tell("runs"); go(one.at_s); if (one.layer) open(one.layer); scrollTo({ top: 0 }); };
  home.replaceChildren(question("scenes"), el("ol", { class: "scenes" }, ...list.map((one) => el("li", {}, el("h3", {}, one.title), el("p", {}, one.caption), el("button", { type: "button", onclick: () => show(one) }, `Show, at ${clock(one.at_s)}`)))));
}

function report() {
  home.replaceChildren(question("report"), el("p", { class: "note" }, "One file that needs nothing else; print it from the browser for paper."),
    el("ul", { class: "reports" }, ...state.runs.map((r) => el("li", {}, el("a", { href: `/runs/${r.id}/report.html`, download: "" }, `Report of ${r.name}`)))));
}
