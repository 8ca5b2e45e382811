// Scenes: pictures for a talk in the user's order.  Every change sends the whole list, which is kept whole or not at all.

import { state, on, shown, ask, el, clock, go, tell, showProblems } from "./store.js";

let list = null, page = null, opens = null, opened = -1;
export function begin(of, open) { page = of; opens = open; }

const here = () => el("span", { class: "here" }, clock(state.at));
on("time", () => { for (const one of document.querySelectorAll(".scenes-layer .here")) one.textContent = clock(state.at); });
const plain = () => list.scenes.map((one) => one.scene);

/** What the layer holds. */
export async function parts() {
  list = await ask("/scenes.json");
  const trouble = el("div", { role: "alert" });
  const keep = async (scenes, edit = -1) => {
    try { list = await ask("/scenes", { scenes }); opened = edit; showProblems(trouble, []); fill(); } catch (e) { showProblems(trouble, e.problems ?? [{ where: "page", found: String(e) }]); }
  };
  const rows = el("ol", { class: "scenes" }), top = el("div", { class: "top" });
  const fill = () => {
    rows.replaceChildren(...list.scenes.map((one, n) => card(one, n, keep)));
    const add = el("button", { type: "button", class: "go", disabled: !shown().length, onclick: () => keep([...plain(), fresh()], list.scenes.length) }, "Add a scene: these runs at ", here());
    const back = el("button", { type: "button", disabled: !list.own, onclick: () => keep(null) }, "Back to the list it began with");
    top.replaceChildren(add, back, el("span", { class: "note" }, list.own ? "Your list, kept with the study." : "The list to begin with."));
  };
  fill();
  return [el("div", { class: "scenes-layer" }, el("p", { class: "note" }, "Numbers in captions are read from the runs each time they are shown."), top, trouble, rows)];
}

const fresh = () => ({ title: `At ${clock(state.at)}`, says: "{mode}. The cabin has {cabin}.", layer: "traces", runs: shown().map((run) => run.place), at_s: state.at });

function card(one, n, keep) {
  const { scene } = one, all = plain();
  const move = (to) => { const next = [...all]; next.splice(n, 1); next.splice(to, 0, scene); keep(next); };
  const put = (what) => keep(all.map((s, k) => (k === n ? { ...s, ...what } : s)), n);
  const button = (words, name, off, press) => el("button", { type: "button", "aria-label": `${name}: ${scene.title}`, title: name, disabled: off, onclick: press }, words);
  const title = el("input", { value: scene.title, "aria-label": "Title", maxlength: 120, onchange: () => put({ title: title.value.trim() || scene.title }) });
  const says = el("textarea", { rows: 2, maxlength: 600, "aria-label": "Caption, with names of numbers in braces", onchange: () => put({ says: says.value }) }, scene.says);
  const word = el("select", { "aria-label": "Put a number into the caption", onchange: () => { if (!word.value) return; says.setRangeText(`{${word.value}}`, says.selectionStart, says.selectionEnd, "end"); put({ says: says.value }); } },
    el("option", { value: "" }, "Put a number in …"), ...list.words.map(([key, words]) => el("option", { value: key }, words)));
  const layer = el("select", { onchange: () => put({ layer: layer.value }) }, ...page.layers.filter(([key]) => !["scenes", "setup", "report"].includes(key)).map(([key, name]) => el("option", { value: key }, name)));
  layer.value = scene.layer || "traces";
  return el("li", {}, el("h3", {}, scene.title), el("p", {}, one.caption),
    el("div", { class: "top" }, el("button", { type: "button", class: "show", disabled: !one.ids.length, onclick: () => show(n) }, `Show, at ${clock(scene.at_s)}`),
      button("↑", "Earlier", n === 0, () => move(n - 1)), button("↓", "Later", n === all.length - 1, () => move(n + 1)), button("✕", "Take out", false, () => keep(all.filter((_, k) => k !== n)))),
    el("details", { class: "twin", open: n === opened }, el("summary", {}, "Change it"), el("div", { class: "edit" }, el("label", {}, "Title", title), el("label", {}, "Caption", says), el("label", {}, "Opens", layer),
      word, el("button", { type: "button", onclick: () => put({ at_s: state.at, runs: shown().map((run) => run.place) }) }, "Take these runs at ", here()))));
}

/** Show a scene: its runs, instant and layer, and its caption with the way to the next. */
async function show(n) {
  const one = list.scenes[n], home = document.querySelector("#scene");
  for (const run of state.runs) run.shown = one.ids.includes(run.id);
  const step = (to, words) => el("button", { type: "button", disabled: to < 0 || to >= list.scenes.length, onclick: () => show(to) }, words);
  const close = el("button", { type: "button", onclick: () => { home.replaceChildren(); opens("scenes"); } }, "End");
  home.replaceChildren(el("div", { class: "scene" }, el("p", {}, el("b", {}, `${n + 1}. ${one.scene.title}. `), one.caption), el("div", { class: "top" }, step(n - 1, "‹ Back"), step(n + 1, "Next ›"), close)));
  await opens(one.scene.layer || "traces");
  go(one.scene.at_s);
  tell("runs");
  scrollTo({ top: 0 });
}
