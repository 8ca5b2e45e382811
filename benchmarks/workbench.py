"""Measure the workbench on a day of seconds and thirty signals: time to a picture, a step in time, a frame.

Run: python benchmarks/workbench.py    (needs what `make test-browser` installs)
"""

from __future__ import annotations

import json
import shutil
import socket
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

STEPS, SIGNALS = 86_400, 30
MEASURE = """async () => {
  const shared = await import('/static/store.js'), traces = await import('/static/traces.js');
  const run = shared.state.runs[0], names = run.series.slice(0, %d).map((s) => s.name);
  const begun = performance.now();
  const data = await Promise.all(names.map((n) => shared.floats(`/runs/${run.id}/series?names=${n}`)));
  const got = performance.now();
  const thinned = data.map((y) => traces.thin(run.rows.t, y, 1300));
  const joined = uPlot.join(thinned.map(([x, y]) => { const xs = x.map((t, k) => t + k * 1e-6); return [xs, y]; }));
  const home = document.createElement('div'); document.body.append(home);
  new uPlot({ width: 1300, height: 500,
    series: [{}, ...names.map((n) => ({ label: n, stroke: '#333', spanGaps: true }))],
    scales: { x: { time: false } } }, joined, home);
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  const drawn = performance.now();
  home.remove();
  const script = [], frame = [];
  let last = performance.now();
  for (let k = 0; k < 240; k++) {
    const a = performance.now();
    shared.go((k * 331) %% run.end_s);
    script.push(performance.now() - a);
    await new Promise((done) => requestAnimationFrame(done));
    frame.push(performance.now() - last); last = performance.now();
  }
  const middle = (row, share) => row.sort((a, b) => a - b)[Math.floor(row.length * share)];
  return { fetch_ms: got - begun, draw_ms: drawn - got, step_ms: middle(script, 0.5), step_p95_ms: middle(script, 0.95),
    frame_ms: middle(frame, 0.5), frame_p95_ms: middle(frame, 0.95) };
}"""


def make_day(folder: Path) -> None:
    """Stretch a saved demo run to a day of seconds."""
    from heatwright.report import save_run
    from heatwright.run import load_run
    from heatwright.workbench.serve import demo_folder

    run = load_run(demo_folder() / "plain")
    old = np.linspace(0.0, 1.0, len(run.t_s))
    new = np.linspace(0.0, 1.0, STEPS)
    series = {
        name: np.interp(new, old, values).astype(np.float32) if values.dtype.kind == "f"
        else values[np.minimum((new * len(old)).astype(int), len(old) - 1)]
        for name, values in run.series.items()
    }  # fmt: skip
    t_s = np.arange(STEPS, dtype=float)
    books = {**run.books, "t_s": run.books["t_s"] * (STEPS - 1) / run.t_s[-1]} if run.books else {}
    save_run(replace(run, t_s=t_s, series=series, books=books), folder / "day")


def main() -> None:
    """Measure and print."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as place, socket.socket() as free:
        make_day(Path(place))
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        code = f"from heatwright.cli import main; main(['open', {place!r}, '--no-browser', '--port', '{port}'])"
        server = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
        assert server.stdout is not None
        address = server.stdout.readline().split()[0]
        with sync_playwright() as play:
            browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1400, "height": 1000}, bypass_csp=True)
            page.goto(address)
            page.wait_for_function("window.__ready")
            page.click("#tab-report")
            for _ in range(3):
                print(json.dumps({k: round(v, 2) for k, v in page.evaluate(MEASURE % SIGNALS).items()}))
            browser.close()
        server.terminate()
        server.wait(15)


if __name__ == "__main__":
    main()
