// Compare: values and signed differences at the instant and over the trip, and whether the differences hold.

import { state, shown, ask, el, clock, showProblems } from "./store.js";

const MARKS = { holds: "●", depends: "◐", "within doubt": "○", same: "=" };

function table(caption, head, rows, mark = -1) {
  return el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": caption }, el("table", { class: "sides" }, el("caption", {}, caption),
    el("thead", {}, el("tr", {}, ...head.map((h) => el("th", { scope: "col" }, h)))),
    el("tbody", {}, ...rows.map((r) => el("tr", {}, ...r.map((c, k) => k === 0 ? el("th", { scope: "row" }, c) : el("td", k === mark ? { "data-verdict": c } : {}, k === mark && MARKS[c] ? `${MARKS[c]} ${c}` : c)))))));
}

/** The verdicts, or the way to ask for them, or why that cannot be. */
function judged(found, ids) {
  const box = el("section", { class: "verdicts", "aria-label": "Verdicts" });
  if (found.unasked) box.append(el("p", { class: "sorry" }, found.unasked));
  else if (!found.verdicts) {
    const trouble = el("div", { role: "alert" });
    const go = el("button", { type: "button", class: "go", onclick: async () => {
      go.disabled = true;
      try { await ask("/verdicts", { runs: ids }); showProblems(trouble, []); } catch (e) { go.disabled = false; showProblems(trouble, e.problems ?? [{ where: "page", found: String(e) }]); }
    } }, "Ask whether these differences hold");
    box.append(el("p", {}, go), el("p", { class: "note" }, "Each plant is marched again in 64 draws of what is not known well: about half a minute for two plants on a day. A difference holds when nearly all draws agree in its sign."), trouble);
  } else {
    for (const one of found.verdicts.against) {
      box.append(el("p", { class: "better" }, one.better));
      if (one.equal) box.append(el("p", { class: "note" }, `For equal service, ${one.equal}.`));
      const head = ["figure", one.names[0], one.names[1], "difference", "nine in ten from", "verdict"];
      box.append(el("details", { class: "twin" }, el("summary", {}, `Every difference of ${one.names[1]} from ${one.names[0]}, with its verdict`), table(`${one.names[1]} against ${one.names[0]}`, head, one.rows, 5)));
    }
    box.append(el("details", { class: "twin" }, el("summary", {}, `All findings, from ${found.verdicts.draws} draws`), el("ul", {}, ...found.verdicts.sentences.map((s) => el("li", {}, s)))));
  }
  return box;
}

/** What the layer holds; null where too few runs are shown. */
export async function parts() {
  const runs = shown(), ids = runs.map((run) => run.id);
  if (ids.length < 2) return [el("p", { class: "sorry" }, "One run is shown; choose two to four beneath the time band.")];
  const found = await ask(`/compare.json?runs=${ids.join(",")}&at=${state.at}`);
  const head = ["figure", "unit", ...found.names], bars = el("div", { class: "drawing narrow" });
  bars.innerHTML = found.bars; // drawn by this program; its words are escaped there
  return [judged(found, ids), el("p", { class: "note" }, `In brackets: the difference from ${found.names[0]}.`),
    el("div", { class: "halves" }, table(`At ${clock(found.at_s)}`, head, found.now.map((r) => r.cells)), table("Over the whole trip", head, found.whole.map((r) => r.cells))),
    el("figure", {}, bars, el("figcaption", {}, "Energy by use"))];
}
