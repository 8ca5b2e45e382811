// The sheet layer: a part's figures on click or focus, and the offer to look longer for a better layout.

import { ask, el, showProblems } from "./store.js";

const chosen = new Map(); // run -> part

/** Make the parts of a drawn sheet answer to pointer and keyboard, and offer to refine its layout. */
export function dress(figure, picture, plumbing, again) {
  const svg = figure.querySelector("svg"), panel = el("div", { class: "figures", role: "group", "aria-live": "polite", "aria-label": `Figures of a part, ${picture.name}` });
  figure.dataset.run = picture.run;
  if (!picture.parts.length) return;
  svg.setAttribute("role", "group");
  svg.setAttribute("aria-label", `${picture.name}; Tab goes from part to part`);
  const show = (part) => {
    chosen.set(picture.run, part.part);
    for (const one of svg.querySelectorAll("[data-part][role]")) one.setAttribute("aria-pressed", one.dataset.part === part.part);
    panel.replaceChildren(el("h3", {}, part.words, el("small", {}, ` ${part.kind}`)), el("table", {}, el("tbody", {}, ...part.rows.map(([what, value]) => el("tr", {}, el("th", { scope: "row" }, what), el("td", {}, value))))));
  };
  for (const part of picture.parts) {
    const place = svg.querySelector(`#part-${CSS.escape(part.part)}`);
    if (!place) continue;
    place.setAttribute("tabindex", "0");
    place.setAttribute("role", "button");
    place.setAttribute("aria-label", `${[...place.querySelectorAll("text")].map((one) => one.textContent).join(" ") || part.words}, ${part.kind}`);
    place.setAttribute("aria-pressed", "false");
    place.addEventListener("focus", () => show(part));
    place.addEventListener("click", () => { place.focus({ preventScroll: true }); show(part); });
    place.addEventListener("keydown", (e) => { if (e.key === "Enter" || e.key === " ") { e.preventDefault(); e.stopPropagation(); show(part); } });
  }
  const last = picture.parts.find((one) => one.part === chosen.get(picture.run));
  if (last) show(last); else panel.append(el("p", { class: "note" }, "Click a part, or go to it with Tab, for its figures at this instant."));
  figure.querySelector(".drawing").after(panel);
  figure.classList.add("sheet");
  if (plumbing) refine(figure, picture.run, again);
}

/** Which part of which sheet has the focus, and to give it back once the sheet is drawn anew. */
export function held(home) {
  const part = home.contains(document.activeElement) && document.activeElement.closest("figure[data-run] [data-part]");
  return part ? [part.closest("figure").dataset.run, part.id] : null;
}
export function hold(home, was) {
  if (was) home.querySelector(`figure[data-run="${was[0]}"] #${CSS.escape(was[1])}`)?.focus({ preventScroll: true });
}

async function refine(figure, run, again) {
  const home = el("div", { class: "layout" }), trouble = el("div", { role: "alert" });
  figure.querySelector("figcaption").after(home, trouble);
  const told = (facts) => `${facts.crossings} ${facts.crossings === 1 ? "crossing" : "crossings"}, ${facts.bends} bends`;
  const send = async (path) => { try { await ask(path, {}); } catch (e) { showProblems(trouble, e.problems ?? [{ where: "sheet", found: String(e) }]); } look(); };
  const look = async (was = "") => {
    const facts = await ask(`/runs/${run}/layout.json`).catch((e) => showProblems(trouble, e.problems));
    if (!facts) return;
    const now = facts.refinement;
    if (now?.state === "running") {
      const bar = home.querySelector("progress");
      if (bar) bar.value = now.share;
      else home.replaceChildren("Looking longer for a layout ", el("progress", { max: 1, value: now.share, "aria-label": "Layout, share done" }), el("button", { type: "button", onclick: () => send(`/runs/${run}/layout/stop`) }, "Stop"));
      if (home.isConnected || !was) setTimeout(() => look("running"), 500);
      return;
    }
    if (was && now?.state === "done") return again();
    if (now?.state === "failed") showProblems(trouble, now.problems);
    const better = now?.state === "done" && now.before.crossings + now.before.bends !== now.after.crossings + now.after.bends;
    const said = now?.state === "done" ? better ? `; it was ${told(now.before)}` : "; no better one was found" : "";
    home.replaceChildren(`Layout: ${told(facts)}${said}. `, el("button", { type: "button", disabled: facts.busy, title: "Looks for some minutes in a process of its own; the better layout is kept", onclick: () => send(`/runs/${run}/layout`) }, "Look longer for a better one"));
  };
  await look();
}
