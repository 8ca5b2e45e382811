"""A Chromium found on the machine, run as a program beside: it prints pages and takes pictures of drawings."""

from __future__ import annotations

import os
import secrets
import shutil
import subprocess
import tempfile
from pathlib import Path

from heatwright.errors import ToolError

NAMES = ("chromium", "chromium-browser", "chrome", "headless_shell")
CHOSEN = "HEATWRIGHT_BROWSER"
LONGEST_S = 90
SCALE = 2


def find_browser() -> str:
    """Return the path of a Chromium: the one named by HEATWRIGHT_BROWSER, or the first found on PATH."""
    named = os.environ.get(CHOSEN)
    found = shutil.which(named) if named else next(filter(None, map(shutil.which, NAMES)), None)
    if found is None:
        looked = f"{CHOSEN} names {named}, which cannot be run" if named else f"none of {', '.join(NAMES)} is on PATH"
        raise ToolError(f"no Chromium on this machine: {looked}; install one, or name it in {CHOSEN}")
    return found


def print_pdf(page: Path, target: Path) -> None:
    """Print an HTML file as PDF; ToolError where there is none or it fails."""
    _run(page, "--print-to-pdf={}", "--no-pdf-header-footer", made=target)


def take_picture(drawing: str, target: Path, *, night: bool = False) -> None:
    """Write an SVG that stands alone as PNG, twice as many pixels as its units; ToolError where that cannot be."""
    _, _, wide, high = (float(part) for part in drawing.partition('viewBox="')[2].partition('"')[0].split())
    size = f"{int(wide + 0.999)},{int(high + 0.999)}"
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "drawing.html"
        style = f"html,body{{margin:0}}svg{{display:block;width:{wide:g}px;height:{high:g}px}}"
        meta = '<meta charset="utf-8"><meta name="color-scheme" content="light dark">'
        page.write_text(f"<!doctype html>{meta}<style>{style}</style>{drawing}", encoding="utf-8")
        theme = f"--blink-settings=preferredColorScheme={0 if night else 1}"
        options = (f"--window-size={size}", f"--force-device-scale-factor={SCALE}", "--hide-scrollbars", theme)
        _run(page, "--screenshot={}", *options, made=target)


def _run(page: Path, asked: str, *options: str, made: Path) -> None:
    """Let the browser write a hidden file beside the one asked for, and rename it when it is whole."""
    work = made.absolute().parent / f".{made.stem}.{secrets.token_hex(4)}{made.suffix}"
    try:
        _ask(page, asked.format(work), *options)
        if not work.is_file():
            raise ToolError(f"{find_browser()} wrote nothing")
        os.replace(work, made)
    finally:
        work.unlink(missing_ok=True)


def _ask(page: Path, *options: str) -> None:
    command = [find_browser(), "--headless", "--disable-gpu", *options]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--no-sandbox")  # Chromium refuses to be run by the system's owner otherwise
    with tempfile.TemporaryDirectory() as home:
        command += [f"--user-data-dir={home}", page.absolute().as_uri()]
        try:
            done = subprocess.run(command, capture_output=True, timeout=LONGEST_S, check=False)
        except (OSError, subprocess.TimeoutExpired) as failure:
            raise ToolError(f"{command[0]} did not finish: {failure}") from failure
    if done.returncode != 0:
        said = done.stderr.decode(errors="replace").strip().splitlines()
        raise ToolError(f"{command[0]} failed: {said[-1] if said else f'it ended with {done.returncode}'}")
