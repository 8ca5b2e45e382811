"""The page of the workbench: the standing frame, the time band, and beneath it the layer that is open.

Every layer has an address, `/layers/NAME`, whose page holds what the layer shows, and a twin, `/layers/NAME.json`, made
from the same dataclass. The scripts of the page then take over.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from html import escape
from typing import Any

from heatwright.draw.palette import css_variables, variables
from heatwright.report.html import CAUTIONS
from heatwright.workbench.opened import TITLES, Layer, Picture, Table
from heatwright.workbench.study import Study


@dataclass(frozen=True)
class Page:
    """What the page starts from."""

    title: str
    runs: tuple[tuple[str, str], ...]
    plants: tuple[str, ...]
    trips: tuple[str, ...]
    layers: tuple[tuple[str, str, str], ...]
    strategies: tuple[tuple[str, str], ...]
    cautions: tuple[tuple[str, str], ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


STRATEGIES = (
    ("table", "the plant's decision table"),
    ("rules", "its rules, with knobs solved"),
    ("dispatch", "dispatch, which weighs every mode"),
)


def page_of(study: Study) -> Page:
    """The page of a study."""
    return Page(
        study.title, tuple((one.id, one.name) for one in study.kept), tuple(study.plants), tuple(study.trips),
        tuple((key, *told) for key, told in TITLES.items()), STRATEGIES, CAUTIONS,
    )  # fmt: skip


def _theme() -> str:
    """Colours of the drawings, with a choice by hand above that of the screen."""
    pairs = variables().items()
    day = "".join(f"--hw-{name}:{a};" for name, (a, _) in pairs)
    night = "".join(f"--hw-{name}:{b};" for name, (_, b) in pairs)
    by_hand = f':root[data-theme="day"]{{{day}}}@media screen{{:root[data-theme="night"]{{{night}}}}}'
    return css_variables() + by_hand


def layer_html(layer: Layer) -> str:
    """What a layer shows, as HTML that needs no script."""
    parts = [f'<h2 class="question">{escape(layer.question)}</h2>']
    parts += [f'<p class="sorry">{escape(layer.sorry)}.</p>'] if layer.sorry else []
    parts += [f"<p>{escape(line)}</p>" for line in layer.lines]
    parts += [_picture(one) for one in layer.pictures]
    parts += [_table(one) for one in layer.tables]
    links = "".join(f'<li><a href="{escape(where)}">{escape(words)}</a></li>' for where, words in layer.links)
    return "".join(parts) + (f"<ul>{links}</ul>" if links else "")


def _picture(one: Picture) -> str:
    under = f"<figcaption>{escape(one.name)}</figcaption>"
    return f"<figure>{one.svg}{under}{_table(one.table) if one.table else ''}</figure>"


def _table(one: Table) -> str:
    head = "".join(f'<th scope="col">{escape(cell or "·")}</th>' for cell in one.head)
    rows = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>{"".join(f"<td>{escape(cell)}</td>" for cell in row[1:])}</tr>'
        for row in one.rows
    )
    name = escape(one.caption)
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{name}"><table><caption>{name}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def page_html(page: Page, token: str, layer: Layer | None = None) -> str:
    """The page as HTML, with the layer that is open, if any; runs are filled in by its scripts."""
    tabs = "".join(
        f'<button type="button" role="tab" aria-selected="{str(layer is not None and key == layer.key).lower()}"'
        f' aria-controls="layer" tabindex="-1" data-layer="{key}" id="tab-{key}">{escape(title)}</button>'
        for key, title, _ in page.layers
    )
    cautions = "".join(f"<li><b>{escape(head)}</b> {escape(body)}</li>" for head, body in page.cautions)
    title = f"{layer.title}, {page.title}" if layer else page.title
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark"><meta name="heatwright-token" content="{escape(token)}">
<title>{escape(title)}: Heatwright</title><link rel="icon" href="/static/mark.svg">
<style>{_theme()}</style>
<link rel="stylesheet" href="/static/vendor/uPlot.min.css"><link rel="stylesheet" href="/static/bench.css">
<script defer src="/static/vendor/uPlot.iife.min.js"></script><script type="module" src="/static/bench.js"></script>
</head><body>
<a class="skip" href="#band">To the time band</a>
<header><h1><img src="/static/mark.svg" alt="" width="22" height="22">{escape(page.title)}</h1>
<form id="whatif" aria-label="What if one number were another">
<span class="ask">What if</span><select id="wi-plant" aria-label="Plant or trip"></select>
<input id="wi-key" list="wi-keys" aria-label="Number to change" placeholder="heater.power"
autocomplete="off" spellcheck="false">
<datalist id="wi-keys"></datalist><span class="ask">were</span>
<input id="wi-value" aria-label="New value with its unit" placeholder="3 kW" autocomplete="off" spellcheck="false">
<span id="wi-was" class="was" aria-live="polite"></span><button type="submit" class="go">Run it</button></form>
<button type="button" id="theme" aria-label="Day or night">◐</button></header>
<div id="jobs" aria-live="polite"></div><div id="told" aria-live="polite"></div>
<div id="scene" aria-live="polite"></div>
<div id="trouble" role="alert"></div>
<main><h2 class="unseen">Needs and bodies at the chosen instant</h2>
<section id="cars" aria-label="Runs"></section>
<section id="band" aria-label="Time band"></section>
<nav aria-label="Layers"><div role="tablist" aria-label="Open a layer" id="tabs">{tabs}</div></nav>
<section id="layer" role="tabpanel" tabindex="0" aria-label="Open layer">{layer_html(layer) if layer else ""}</section>
</main>
<footer><details><summary>Cautions: an engineering estimate, not a release for the road</summary><ul>{cautions}</ul>
<p>Local codes, the maker's instructions and licensed practice come first.</p></details>
<p class="keys">Space plays · ← → step a minute, with Shift ten · [ ] from mode to mode · Home End
· L goes to the layers</p></footer>
<noscript>The workbench needs the scripts that it brings along.</noscript>
</body></html>"""
