// The standing frame: for every shown run its five needs, and its bodies at the height of their temperatures, with the
// heat between them and the loops.  Drawn once a run; a step in time only changes numbers, colours and heights.

import { state, on, shown, place, signed, modeAt, el, clock } from "./store.js";

const NS = "http://www.w3.org/2000/svg";
const BODIES = [["outside", "Outside", 92], ["pack", "Pack", 218], ["drive", "Drive unit", 344], ["cabin", "Cabin", 470]];
const NEEDS = [["drive", "Drive unit cooled", "K", 60], ["pack", "Pack able to give or take", "kW", 60], ["cabin", "Cabin comfortable", "K", 10], ["glass", "Glass clear", "K", 10]];
const TOP = 44, FLOOR = 222, LOW = -20, HIGH = 80, LOOPS = 268, WIDE = 106, TALL = 46;
const STOPS = [-20, -8, 2, 12, 22.5, 35, 50, 70, 90];
let ramp = [];

export function readRamp() {
  const css = getComputedStyle(document.documentElement);
  const stops = STOPS.map((_, k) => css.getPropertyValue(`--hw-ramp-${k}`).trim()).map((c) => [1, 3, 5].map((i) => parseInt(c.slice(i, i + 2), 16)));
  ramp = Array.from({ length: 256 }, (_, n) => {
    const t = -20 + 110 * n / 255, k = Math.max(1, STOPS.findIndex((s) => s >= t - 1e-6)), f = (t - STOPS[k - 1]) / (STOPS[k] - STOPS[k - 1]);
    return `rgb(${stops[k].map((c, i) => Math.round(stops[k - 1][i] + (c - stops[k - 1][i]) * f)).join(",")})`;
  });
}
const colour = (c) => ramp[Math.min(255, Math.max(0, Math.round((c + 20) / 110 * 255)))];
const height = (c) => FLOOR - (Math.min(Math.max(c, LOW), HIGH) - LOW) / (HIGH - LOW) * (FLOOR - TOP);

function svg(tag, attrs, words) {
  const made = document.createElementNS(NS, tag);
  for (const [k, v] of Object.entries(attrs)) made.setAttribute(k, v);
  if (words !== undefined) made.textContent = words;
  return made;
}

function draw(run) {
  const root = svg("svg", { viewBox: "0 0 540 330", class: "bodies", "aria-hidden": "true" });
  const put = (tag, attrs, words) => root.appendChild(svg(tag, attrs, words));
  for (let t = LOW; t <= HIGH; t += 20) {
    put("path", { d: `M34 ${height(t)}H536`, class: t === 0 ? "zero" : "grid" });
    put("text", { x: 28, y: height(t) + 4, "text-anchor": "end", class: "tick" }, t === HIGH ? "80 °C" : signed(t, 0));
  }
  put("rect", { x: 40, y: LOOPS, width: 492, height: 34, rx: 17, class: "loops" });
  const made = put("text", { x: 286, y: LOOPS + 22, "text-anchor": "middle", class: "made" });
  const parts = {};
  for (const [key, name, x] of BODIES) {
    const band = put("path", { class: "heat" }), arrow = put("path", { class: "arrow" });
    const watts = put("text", { x: x + 6, y: LOOPS + 52, "text-anchor": "middle", class: "watts" });
    const box = put("g", {});
    const rect = box.appendChild(svg("rect", { x: x - WIDE / 2, y: -TALL / 2, width: WIDE, height: TALL, rx: key === "cabin" ? 16 : 4, class: `body ${key}` }));
    box.appendChild(svg("text", { x, y: -6, "text-anchor": "middle", class: "name" }, name));
    const degrees = box.appendChild(svg("text", { x, y: 15, "text-anchor": "middle", class: "degrees" }));
    parts[key] = { band, arrow, watts, box, rect, degrees, x };
  }
  return { root, parts, made };
}

function card(run) {
  const picture = draw(run);
  const sentence = el("p", { class: "mode" });
  const needs = {};
  const list = el("ul", { class: "needs" });
  for (const [key, words, unit] of [...NEEDS, ["outside", "Outside", "kW"]]) {
    const needle = el("i"), value = el("b"), told = el("span", { class: "told" }, words);
    const li = el("li", { "data-need": key }, told, el("span", { class: "gauge", "aria-hidden": "true" }, needle), value);
    needs[key] = { li, needle, value, told };
    if (key === "pack") {
      const good = el("u"), cells = el("i"), place = el("span", { class: "place" });
      li.append(el("span", { class: "window", "aria-hidden": "true" }, good, cells), place);
      Object.assign(needs[key], { good, cells, place });
    }
    list.append(li);
  }
  const twin = el("table", {}, el("caption", {}, `${run.name}: bodies`));
  const head = el("tr", {}, ...["body", "temperature, °C", "heat from the loops, kW"].map((w) => el("th", { scope: "col" }, w)));
  const cells = {};
  const body = el("tbody");
  for (const [key, name] of BODIES) { cells[key] = [el("td"), el("td")]; body.append(el("tr", {}, el("th", { scope: "row" }, name), ...cells[key])); }
  twin.append(el("thead", {}, head), body);
  const changed = [...Object.entries(run.changes), ...Object.entries(run.trip_changes)].map(([k, v]) => `${k} = ${v}`).join(", ");
  const answers = el("p", { class: "answers" }, ...run.answers.flatMap(([w, v]) => [el("b", {}, v), ` ${w}  `]));
  const made = el("article", { class: "car", "aria-label": run.name },
    el("h3", {}, run.name, el("small", {}, ` ${run.trip_title}`)),
    sentence, el("div", { class: "pair" }, picture.root, list),
    changed ? el("p", { class: "changed" }, changed) : "", answers,
    el("details", { class: "twin" }, el("summary", {}, "As a table"), twin));
  return { made, step: stepper(run, picture, needs, cells, sentence) };
}

function stepper(run, { parts, made }, needs, cells, sentence) {
  const r = run.rows, starts = run.mode_starts.map((m) => m[0]);
  let before = "";
  return (t) => {
    const k = place(r.t, t);
    const p = place(r.heat_t, t), m = r.heat_t.length ? Math.min(r.heat_t[p] <= t ? p + 1 : p, r.heat_t.length - 1) : -1;
    for (const [key, , x] of BODIES) {
      const c = r[`t_${key}`][k] - 273.15, part = parts[key], y = height(c);
      part.box.setAttribute("transform", `translate(0 ${y.toFixed(1)})`);
      part.rect.style.fill = `color-mix(in srgb, ${colour(c)} 36%, var(--hw-paper))`;
      part.rect.style.stroke = colour(c);
      part.degrees.textContent = `${signed(c)} °C`;
      const kw = m < 0 ? NaN : r[`heat_${key}`][m] / 1000, wide = Math.min(46, Math.max(1, Math.abs(kw) * 6));
      const some = Math.abs(kw) >= 0.015;
      part.band.setAttribute("d", `M${x} ${LOOPS}V${(y + TALL / 2).toFixed(1)}`);
      part.band.style.strokeWidth = some ? wide : 0;
      const mid = (LOOPS + y + TALL / 2) / 2, s = kw > 0 ? -6 : 6;
      part.arrow.setAttribute("d", some ? `M${x - 8} ${mid - s}L${x} ${mid + s}L${x + 8} ${mid - s}` : "");
      const words = !Number.isFinite(kw) ? "–" : some ? `${kw > 0 ? "gets" : "gives"} ${Math.abs(kw).toFixed(2)} kW` : "no heat";
      part.watts.textContent = words;
      cells[key][0].textContent = signed(c);
      cells[key][1].textContent = signed(kw, 2);
    }
    made.textContent = m < 0 ? "coolant, refrigerant and air" : `loops: ${signed(r.made[m] / 1000, 2)} kW made of electricity, ${signed(r.kept[m] / 1000, 2)} kW kept`;
    for (const [key, , unit, full] of NEEDS) if (key !== "drive") need(needs[key], r[`need_${key}`][k], unit, full);
    drive(needs.drive, r, k, run.drive_nodes);
    pack(needs.pack, r, k);
    outside(needs.outside, m < 0 ? NaN : r.heat_outside[m] / 1000);
    const mode = run.modes[run.mode_starts[place(starts, t)]?.[1]] ?? "Valves on their way";
    if (mode !== before) sentence.textContent = before = mode;
  };
}

function need(part, value, unit, full) {
  const asked = Number.isFinite(value), met = value >= -1e-6;
  part.li.dataset.state = !asked ? "rest" : met ? "met" : "missed";
  part.needle.style.left = asked ? `${50 + 48 * Math.max(-1, Math.min(1, value / full))}%` : "50%";
  part.value.textContent = !asked ? "not asked" : `${met ? "✓" : "✗"} ${signed(value)} ${unit}`;
}

/** How far the drive unit is from where its temperatures hold it back; held back, the torque that is left. */
function drive(part, r, k, nodes) {
  const room = r.drive_room[k], share = r.drive_share[k], held = share < 1 - 1e-6, known = Number.isFinite(room);
  part.li.dataset.state = held ? "missed" : r.speed[k] > 0 ? "met" : "rest";
  const place = held ? share - 1 : known ? room / 60 : 0;
  part.needle.style.left = `${50 + 48 * Math.max(-1, Math.min(1, place))}%`;
  const near = known ? `${signed(room, 0)} K to its limit, ${nodes[r.drive_near[k]]}` : "not held back";
  part.value.textContent = held ? `✗ ${signed(share * 100, 0)} % of its torque left` : r.speed[k] > 0 ? `✓ ${near}` : near;
}

/** Where the cells stand in the window in which charging is best, and at rest what the pack may give and take. */
function pack(part, r, k) {
  const [cold, hot, low, high] = ["pack_cold", "pack_hot", "window_low", "window_high"].map((key) => r[key][k] - 273.15);
  const give = r.pack_give[k] / 1000, take = r.pack_take[k] / 1000, x = (c) => 100 * Math.max(0, Math.min(1, (c + 20) / 80));
  if (part.li.dataset.state === "rest" && Number.isFinite(give)) part.value.textContent = `may give ${signed(give, 0)} kW, take ${signed(take, 0)} kW`;
  else if (part.li.dataset.state === "met") part.value.textContent += " to spare";
  else if (part.li.dataset.state === "missed") part.value.textContent = `✗ ${signed(-r.need_pack[k])} kW short`;
  if (!Number.isFinite(cold + low)) { part.place.textContent = ""; return; }
  part.good.style.left = `${x(low)}%`;
  part.good.style.width = `${x(high) - x(low)}%`;
  part.cells.style.left = `${x(cold)}%`;
  part.cells.style.width = `max(4px, ${x(hot) - x(cold)}%)`;
  const off = cold < low ? `${signed(low - cold, 0)} K below` : hot > high ? `${signed(hot - high, 0)} K above` : "inside";
  part.place.textContent = `cells ${hot - cold < 0.5 ? signed(cold) : `${signed(cold)} to ${signed(hot)}`} °C, ${off} their window ${signed(low, 0)} to ${signed(high, 0)} °C`;
}

function outside(part, kw) {
  const some = Math.abs(kw) >= 0.015;
  part.li.dataset.state = "rest";
  part.needle.style.left = `${50 + 48 * Math.max(-1, Math.min(1, (kw || 0) / 10))}%`;
  part.told.textContent = !some ? "Heat outside" : kw > 0 ? "Heat shed outside" : "Heat taken outside";
  part.value.textContent = some ? `${Math.abs(kw).toFixed(2)} kW` : "none";
}

let cards = [];
export function begin(home) {
  const build = () => {
    readRamp();
    cards = shown().map(card);
    home.replaceChildren(...cards.map((one) => one.made));
    home.dataset.count = cards.length;
    if (!cards.length) home.append(el("p", { class: "empty" }, "No run lies on the bench yet. Choose a plant above, or open Set up, and run it."));
    step();
  };
  const step = () => { for (const one of cards) one.step(state.at); };
  on("runs", build);
  on("time", step);
  build();
  return build;
}
