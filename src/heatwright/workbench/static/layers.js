// Layers that open beneath the frame: each asks the server for its pictures and tables at the chosen instant.

import { state, on, shown, ask, el, clock, showProblems } from "./store.js";
import * as address from "./address.js";
import * as compare from "./compare.js";
import * as report from "./report.js";
import * as scenes from "./scenes.js";
import * as traces from "./traces.js";
import * as setup from "./setup.js";
import * as sheet from "./sheet.js";

let page, home, tabs, waits = 0, asked = 0;

export function begin(of, place, list) {
  page = of; home = place; scenes.begin(of, open); tabs = [...list.querySelectorAll("[role=tab]")];
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

export function open(key, step = true) {
  if (state.layer === "traces" && key !== "traces") traces.close();
  state.layer = key;
  for (const tab of tabs) { const yes = tab.dataset.layer === key; tab.setAttribute("aria-selected", yes); tab.tabIndex = yes ? 0 : -1; }
  home.setAttribute("aria-labelledby", `tab-${key}`);
  home.replaceChildren(el("p", { class: "wait" }, "…"));
  if (step) address.write(true);
  return fill();
}

export async function fill() {
  const key = state.layer, mine = ++asked;
  if (!key) return;
  try {
    if (key === "traces") await traces.open(home);
    else if (key === "setup") { if (!home.querySelector(".setup")) await setup.open(home, page); }
    else if (key in OWN) await own(key, mine);
    else await pictures(key, mine);
  } catch (e) {
    if (mine !== asked) return;
    const box = el("div", { role: "alert" });
    home.replaceChildren(box);
    showProblems(box, e.problems ?? [{ where: "page", found: String(e) }]);
  }
  if (mine === asked) document.documentElement.dataset.ready = key;
}

const OWN = { scenes, report, compare };
async function own(key, mine) {
  if (home.querySelector(`.${key}-layer :is(input, textarea):focus`)) return; // what is being written there stays
  const kept = [...home.querySelectorAll("details[open] > summary")].map((s) => s.textContent);
  const parts = await OWN[key].parts();
  if (mine !== asked) return;
  home.replaceChildren(question(key), ...parts);
  if (key === "compare") for (const s of home.querySelectorAll("summary")) if (kept.includes(s.textContent)) s.parentElement.open = true;
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
  const found = await ask(`/layers/${key}.json?runs=${ids()}&at=${state.at}${span}&level=${state.level}`);
  if (mine !== asked) return;
  const parts = [question(key)];
  if (key === "heat") parts.push(el("p", { class: "note" }, state.span ? `From ${clock(state.span[0])} to ${clock(state.span[1])}. ` : "The whole trip; a span dragged in the traces narrows it. ", state.span ? el("button", { type: "button", onclick: () => { state.span = null; address.write(); fill(); } }, "The whole trip") : ""));
  if (key === "sheet") parts.push(el("p", { class: "note", role: "group", "aria-label": "Level of the sheet" }, ...["idea", "loops", "plumbing", "temperatures"].map((one) => el("button", { type: "button", "aria-pressed": String(one === state.level), onclick: () => { state.level = one; address.write(); fill(); } }, { idea: "The idea", loops: "The loops", plumbing: "The plumbing", temperatures: "Every temperature" }[one]))));
  if (found.sorry) parts.push(el("p", { class: "sorry" }, found.sorry + "."));
  const shelf = el("div", { class: "shelf", "data-count": found.pictures.length });
  for (const one of found.pictures) {
    const frame = el("div", { class: "drawing" });
    frame.innerHTML = one.svg; // drawn by this program; its words are escaped there
    const figure = el("figure", {}, frame, el("figcaption", {}, one.name), one.table ? table(one.table) : "");
    shelf.append(figure);
    if (one.run) sheet.dress(figure, one, state.level === "plumbing", fill);
  }
  const held = sheet.held(home);
  home.replaceChildren(...parts, shelf);
  sheet.hold(home, held);
}
