"""Write docs/img/screens: every screen of the workbench, by day and by night. Run: make screens"""

from __future__ import annotations

import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

TARGET = Path(__file__).parent.parent / "docs" / "img" / "screens"
LAYERS = "traces needs heat sheet compare setup modes reach cycle energy scenes report".split()
UNDER_DISPATCH = ["why"]
"""Where no modes competed there is nothing to see: these show a run under dispatch."""
SIZE = {"width": 1400, "height": 1000}
AT_S = 2700
STUDY = "Winter day, two plants"
PREVIEW_S = 4.0


def main() -> int:
    """Take the pictures; 1 where there is no Chromium."""
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "chrome"))), None)
    if chromium is None:
        print("no Chromium on PATH; on Debian: apt-get install chromium", file=sys.stderr)
        return 1
    with tempfile.TemporaryDirectory() as home:
        tables, dispatched = Path(home, STUDY), Path(home, "Winter day under dispatch")
        shutil.copytree(_demo(), tables, ignore=shutil.ignore_patterns("made"))
        run = ["run", "secondary", "winter_day", "--strategy", "dispatch", "--out", str(dispatched / "secondary")]
        subprocess.run(_verb(run), check=True, stdout=subprocess.DEVNULL)
        for place, layers in ((tables, LAYERS), (dispatched, UNDER_DISPATCH)):
            with served([str(place)]) as address:
                _take(chromium, address, layers)
    return 0


def _verb(words: list[str], first: str = "") -> list[str]:
    """Return the command that runs the program with such words, and some code before it."""
    return [sys.executable, "-c", f"{first}\nfrom heatwright.cli import main; main({words!r})"]


@contextmanager
def served(words: list[str], first: str = "") -> Iterator[str]:
    """Yield the address of a workbench opened with such words, and some code before it; end it afterwards."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["open", *words, "--no-browser", "--port", str(port)]
    server = subprocess.Popen(_verb(words, first), stdout=subprocess.PIPE, text=True)
    assert server.stdout is not None
    try:
        yield server.stdout.readline().split()[0]
    finally:
        server.terminate()
        server.wait(15)
        server.stdout.close()


def _demo() -> Path:
    """Return the demo study as the cache holds it, which is run first if it does not."""
    from heatwright.cli_open import run_demo
    from heatwright.workbench.serve import demo_folder

    home = demo_folder()
    run_demo(home)
    return home


def _take(chromium: str, address: str, layers: list[str]) -> None:
    from playwright.sync_api import sync_playwright

    TARGET.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for theme, scheme in (("day", "light"), ("night", "dark")):
            context = browser.new_context(color_scheme=scheme, viewport=SIZE, reduced_motion="reduce", bypass_csp=True)
            page = context.new_page()
            page.goto(address)
            page.wait_for_function("window.__ready")
            page.eval_on_selector("#scrub", f"s => {{ s.value = {AT_S}; s.dispatchEvent(new Event('input')); }}")
            for layer in layers:
                _open(page, layer)
                page.screenshot(path=TARGET / f"{layer}_{theme}.png", clip=_clip(page), full_page=True)
            context.close()
        browser.close()


def _open(page: Any, layer: str) -> None:
    page.evaluate("delete document.documentElement.dataset.ready")
    page.click(f"#tab-{layer}")
    page.wait_for_selector(f"html[data-ready={layer}]", state="attached")
    page.wait_for_timeout(1000.0 * PREVIEW_S if layer == "report" else 400)


def _clip(page: Any) -> dict[str, float]:
    tall = page.evaluate("document.documentElement.scrollHeight")
    return {"x": 0, "y": 0, "width": SIZE["width"], "height": min(tall, 1500)}


if __name__ == "__main__":
    raise SystemExit(main())
