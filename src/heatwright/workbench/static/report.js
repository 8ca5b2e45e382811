// Report: runs and sections chosen, looked at as it will be, handed on as one HTML file or as PDF.

import { state, shown, ask, el, showProblems } from "./store.js";

let offer = null, runs = null, left = new Set();

/** What the layer holds. */
export async function parts() {
  offer ??= await ask("/report.json");
  const known = new Set(state.runs.map((run) => run.id));
  runs = new Set(shown().map((run) => run.id).filter((id) => known.has(id)));
  const trouble = el("div", { role: "alert" });
  const view = el("iframe", { class: "preview", title: "The report as it will be" });
  const html = el("a", { class: "go", download: "" }, "Save as one HTML file");
  const pdf = el("button", { type: "button", class: "go", onclick: () => print(pdf, trouble) }, "Save as PDF");
  const boxes = new Map();
  const fill = () => {
    const none = runs.size === 0;
    html.toggleAttribute("hidden", none);
    pdf.disabled = none;
    for (const [id, box] of boxes) box.disabled = !runs.has(id) && runs.size >= 4;
    if (none) { view.removeAttribute("src"); return; }
    html.href = address("html");
    const wanted = `${address("html")}&view=1`;
    if (view.getAttribute("src") !== wanted) view.setAttribute("src", wanted);
  };
  const pick = (words, checked, fixed, change) => {
    const box = el("input", { type: "checkbox", onchange: () => { change(box.checked); fill(); } });
    box.checked = checked; box.disabled = fixed;
    return [box, el("label", {}, box, words)];
  };
  const some = state.runs.map((run) => {
    const [box, label] = pick(run.name, runs.has(run.id), false, (yes) => (yes ? runs.add(run.id) : runs.delete(run.id)));
    boxes.set(run.id, box);
    return label;
  });
  const sections = offer.sections.map(([key, title, always]) => pick(always ? `${title} (always goes along)` : title, always || !left.has(key), always, (yes) => (yes ? left.delete(key) : left.add(key)))[1]);
  fill();
  return [el("div", { class: "reports" }, el("div", { class: "choose" }, el("fieldset", {}, el("legend", {}, "Runs, one to four"), ...some), el("fieldset", {}, el("legend", {}, "Sections"), ...sections),
    el("p", { class: "top" }, html, offer.prints ? pdf : ""), offer.prints ? "" : el("p", { class: "note how" }, offer.how), trouble), view)];
}

const address = (ending) => `/report.${ending}?runs=${state.runs.filter((run) => runs.has(run.id)).map((run) => run.id).join(",")}&sections=${offer.sections.map(([key]) => key).filter((key) => !left.has(key)).join(",")}`;

async function print(button, trouble) {
  const words = button.textContent;
  button.disabled = true; button.textContent = "Printing …";
  try {
    const answer = await fetch(address("pdf"));
    if (!answer.ok) throw await answer.json();
    const name = /filename="([^"]+)"/.exec(answer.headers.get("content-disposition") ?? "")?.[1] ?? "report.pdf";
    const at = URL.createObjectURL(await answer.blob());
    el("a", { href: at, download: name }).click();
    setTimeout(() => URL.revokeObjectURL(at), 60_000);
    showProblems(trouble, []);
  } catch (e) { showProblems(trouble, e.problems ?? [{ where: "PDF", found: String(e) }]); }
  button.disabled = false; button.textContent = words;
}
