// The time band: one axis for the legs of the trip, the modes of every run and the slider; one line is one instant.

import { state, on, shown, go, clock, place, el, tell } from "./store.js";

const SLOW = 60; // trip seconds a second of play

export function begin(home) {
  const play = el("button", { type: "button", id: "play", "aria-pressed": "false", "aria-label": "Play" }, "▶");
  const time = el("output", { id: "time", for: "scrub" }, "0:00:00");
  const scrub = el("input", { type: "range", id: "scrub", min: 0, max: 1, step: 1, value: 0, "aria-label": "Instant of the trip" });
  const canvas = el("canvas", { id: "modes", "aria-hidden": "true" });
  const picks = el("div", { class: "picks", role: "group", "aria-label": "Runs shown" });
  const rows = el("div", { class: "tracks", "aria-hidden": "true" });
  home.append(el("div", { class: "controls" }, rows, el("div", {}, play, time)), el("div", { class: "lane" }, canvas, scrub), picks);
  let timer = 0, last = 0;

  const draw = () => {
    const runs = shown(), css = getComputedStyle(document.documentElement), v = (n) => css.getPropertyValue(`--hw-${n}`).trim();
    const wide = canvas.clientWidth, tall = 20 + 18 * runs.length, by = devicePixelRatio || 1;
    canvas.style.height = `${tall}px`;
    canvas.width = wide * by; canvas.height = tall * by;
    const c = canvas.getContext("2d"); c.scale(by, by);
    c.font = "500 11px Workbench, sans-serif"; c.textBaseline = "middle";
    const x = (t) => t / state.end * wide;
    const words = (text, x0, x1, y, ink) => { c.fillStyle = ink; const w = x1 - x0 - 6; if (w < 34) return; let said = text; while (said.length > 3 && c.measureText(said).width > w) said = said.slice(0, -2).trimEnd() + "…"; if (said.length > 4) c.fillText(said, x0 + 4, y); };
    for (const [name, kind, a, b] of runs[0]?.legs ?? []) {
      c.fillStyle = v({ drive: "leg-drive", park: "leg-park", precondition: "leg-preheat", charge: "leg-charge" }[kind] ?? "leg-drive"); c.fillRect(x(a), 0, x(b) - x(a), tall);
      c.fillStyle = v("rule"); c.fillRect(x(a), 0, 1, tall);
      words(name, x(a), x(b), 9, v("soft"));
    }
    runs.forEach((run, n) => {
      const y = 20 + 18 * n;
      run.mode_starts.forEach(([t, k], i) => {
        const a = x(t), b = x(run.mode_starts[i + 1]?.[0] ?? run.end_s);
        if (k < 0) return;
        c.fillStyle = `color-mix(in srgb, ${v(`trace-${k % 6}`)} 22%, ${v("paper")})`; c.fillRect(a, y + 1, Math.max(b - a - 0.5, 0.7), 15);
        words(run.modes[k], a, b, y + 9, v("ink"));
      });
    });
  };
  const step = () => {
    scrub.value = state.at;
    time.textContent = clock(state.at);
    scrub.setAttribute("aria-valuetext", clock(state.at));
    home.style.setProperty("--share", state.at / state.end);
  };
  const refresh = () => {
    rows.replaceChildren(...shown().map((run) => el("span", { title: run.name }, run.name)));
    scrub.max = Math.max(1, Math.floor(state.end));
    picks.replaceChildren(...state.runs.map((run) => {
      const box = el("input", { type: "checkbox", onchange: () => { run.shown = box.checked; tell("runs"); tell("layer"); } });
      box.checked = run.shown;
      box.disabled = !run.shown && shown().length >= 4;
      return el("label", {}, box, run.name);
    }));
    draw(); step();
  };
  const stop = () => { cancelAnimationFrame(timer); timer = 0; play.textContent = "▶"; play.setAttribute("aria-pressed", "false"); play.setAttribute("aria-label", "Play"); };
  const tick = (now) => { go(state.at + Math.min(now - last, 100) / 1000 * SLOW * 5); last = now; if (state.at >= state.end) stop(); else timer = requestAnimationFrame(tick); };
  const toggle = () => { if (timer) return stop(); last = performance.now(); play.textContent = "❚❚"; play.setAttribute("aria-pressed", "true"); play.setAttribute("aria-label", "Pause"); timer = requestAnimationFrame(tick); };
  play.onclick = toggle;
  scrub.oninput = () => go(Number(scrub.value));
  const turn = (way) => {
    const all = [...new Set(shown().flatMap((run) => run.mode_starts.map((m) => m[0])))].sort((a, b) => a - b);
    const next = way > 0 ? all.find((t) => t > state.at + 0.5) : all.filter((t) => t < state.at - 0.5).pop();
    if (next !== undefined) go(next);
  };
  document.addEventListener("keydown", (e) => {
    const field = e.target.closest("input:not([type=range]):not([type=checkbox]), select, textarea");
    if (field || e.ctrlKey || e.metaKey || e.altKey) return;
    const inTabs = e.target.closest("[role=tablist]"), pushed = e.target.closest("button, summary, a");
    const keys = {
      " ": () => !pushed && !e.target.closest("input") && toggle(), "[": () => turn(-1), "]": () => turn(1),
      ArrowLeft: () => !inTabs && go(state.at - (e.shiftKey ? 600 : 60)), ArrowRight: () => !inTabs && go(state.at + (e.shiftKey ? 600 : 60)),
      Home: () => !inTabs && go(0), End: () => !inTabs && go(state.end), l: () => document.querySelector("#tabs [tabindex='0']").focus(),
    };
    const done = (keys[e.key] ?? keys[e.key.toLowerCase()])?.();
    if (keys[e.key] && done !== false && !(e.key === " " && (pushed || e.target.closest("input")))) e.preventDefault();
  });
  on("runs", refresh); on("time", step);
  new ResizeObserver(draw).observe(canvas);
  refresh();
  return draw;
}
