// The workbench: puts the parts of the page together and listens to the server.

import { state, ask, take, tell, showProblems } from "./store.js";
import * as cars from "./cars.js";
import * as band from "./band.js";
import * as address from "./address.js";
import * as layers from "./layers.js";
import * as setup from "./setup.js";

const get = (id) => document.getElementById(id);

function theme() {
  const root = document.documentElement, kept = localStorage.getItem("heatwright-theme");
  if (kept) root.dataset.theme = kept;
  get("theme").onclick = () => {
    const night = root.dataset.theme ? root.dataset.theme === "night" : matchMedia("(prefers-color-scheme: dark)").matches;
    root.dataset.theme = night ? "day" : "night";
    localStorage.setItem("heatwright-theme", root.dataset.theme);
    tell("runs");
  };
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => tell("runs"));
}

const lay = (id, fresh) => take(id, fresh).catch((e) => showProblems(get("trouble"), e.problems ?? [{ where: id, found: String(e) }]));
let files = "", before = null;
function listen() {
  const source = new EventSource("/events");
  source.onmessage = async (e) => {
    const said = JSON.parse(e.data);
    setup.showJobs(get("jobs"), said.jobs);
    for (const id of said.runs) await lay(id, true);
    const done = said.jobs.filter((job) => job.state === "done");
    for (const job of before ? done.filter((one) => !before.has(one.id)) : []) {
      if (job.kind === "verdict") tell("layer"); else await setup.tellDone(get("told"), job, layers.open);
    }
    before = new Set(done.map((job) => job.id));
    const now = JSON.stringify(said.files);
    if (files && now !== files) setup.filesChanged();
    files = now;
  };
}

async function main() {
  theme();
  const page = await ask("/page.json");
  await document.fonts.load("12px Workbench").catch(() => {});
  cars.begin(get("cars"));
  band.begin(get("band"));
  layers.begin(page, get("layer"), get("tabs"));
  for (const [id] of page.runs) await lay(id);
  const wanted = address.read();
  address.apply(wanted);
  tell("runs"); tell("time");
  await layers.open(wanted.layer ?? "traces", false);
  addEventListener("popstate", () => { const back = address.read(); address.apply(back); tell("runs"); tell("time"); layers.open(back.layer ?? "traces", false); });
  await setup.whatIf(page);
  listen();
  window.__bench = state;
  window.__ready = true;
}
main();
