"""The skeleton of a page and its small parts: sections, tables, figures, the title block."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from html import escape
from importlib.resources import files
from typing import Any

from heatwright.draw.palette import css_variables
from heatwright.draw.quantities import figure, stem, words

CAUTIONS = (
    (
        "High voltage.",
        "The pack, the inverter, heaters and the electric compressor can kill, also when parked.",
    ),
    (
        "Refrigerants under pressure.",
        "R1234yf is mildly flammable (A2L), propane is flammable (A3), carbon dioxide works at very high pressure.",
    ),
    ("Coolant.", "It may be hot enough to scald, and glycol mixtures are toxic."),
    ("Lithium-ion pack.", "Outside its limits of temperature, current or charge it may fail, vent or burn."),
    ("Glass.", "A fogged or iced windscreen takes the driver's sight; no saving of energy is worth that."),
    (
        "An engineering estimate.",
        "Nothing here is a release for the road. Local codes, the maker's instructions and licensed practice"
        " come first.",
    ),
)

LONG = 12
"""Most rows of a table that is never broken between pages."""
SHORT = 18
"""Most characters of a table's cell that is never broken."""


def page(title: str, head: str, sections: Sequence[tuple[str, str, str]]) -> str:
    """A whole page from its head and its sections (anchor, heading, content); empty sections are left out."""
    kept = [part for part in sections if part[2]]
    links = "".join(f'<li><a href="#{anchor}">{escape(name)}</a></li>' for anchor, name, _ in kept)
    body = "".join(section(anchor, name, content) for anchor, name, content in kept)
    css = files("heatwright.report").joinpath("report.css").read_text(encoding="utf-8")
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f'<meta name="color-scheme" content="light dark"><title>{escape(title)}</title>'
        f"<style>{css_variables()}{css}</style></head>\n<body><main>{head}"
        f'<nav aria-label="Sections"><ol>{links}</ol></nav>\n{body}</main></body></html>\n'
    )


def section(anchor: str, heading: str, content: str) -> str:
    """One section with its heading."""
    return f'<section id="{anchor}"><h2>{escape(heading)}</h2>{content}</section>\n'


def drawing(svg: str, note: str = "") -> str:
    """A picture with an optional line beneath it."""
    under = f"<figcaption>{escape(note)}</figcaption>" if note else ""
    return f"<figure>{svg}{under}</figure>"


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    caption: str = "",
    foot: Sequence[str] = (),
    words: bool = False,
) -> str:
    """A table whose first column names the row and whose others are figures, or words if `words` says so."""
    top = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    body = "".join(_row(row) for row in rows)
    last = f"<tfoot>{_row(foot)}</tfoot>" if foot else ""
    title = f"<caption>{escape(caption)}</caption>" if caption else ""
    inner = f"{title}<thead><tr>{top}</tr></thead><tbody>{body}</tbody>{last}"
    kind = ' class="words"' if words else ""
    return f'<div class="{wide(len(rows))}"><table{kind}>{inner}</table></div>'


def wide(rows: int) -> str:
    """Class of the frame of a table: one of many rows may go on on the next page when printed."""
    return "wide long" if rows > LONG else "wide"


def _row(cells: Sequence[str]) -> str:
    inner = "".join(f"<td{_kept(cell)}>{escape(cell)}</td>" for cell in cells[1:])
    return f'<tr><th scope="row">{escape(cells[0])}</th>{inner}</tr>'


def _kept(cell: str) -> str:
    """A short cell stays on one line, so that no number stands apart from its unit."""
    return ' class="short"' if 0 < len(cell) <= SHORT else ""


def facts(values: Mapping[str, Any], *, caption: str = "") -> str:
    """A two-column table of named figures; nested names are joined, lists are counted out."""
    rows = [(name, text) for name, text in flat(values)]
    if not rows:
        return ""
    body = "".join(f'<tr><th scope="row">{escape(name)}</th><td>{escape(text)}</td></tr>' for name, text in rows)
    title = f"<caption>{escape(caption)}</caption>" if caption else ""
    return f'<div class="{wide(len(rows))}"><table class="facts">{title}<tbody>{body}</tbody></table></div>'


def flat(values: Mapping[str, Any], above: str = "", unit: str = "") -> list[tuple[str, str]]:
    """(words, figure with unit) of every value; nested ones have the words of their parents first.

    A nested value whose name has no unit suffix takes that of the table it stands in.
    """
    rows: list[tuple[str, str]] = []
    for name, value in values.items():
        full = name if stem(name) != name or not unit else name + unit
        label = f"{above} · {words(full)}" if above else words(full)
        if isinstance(value, Mapping):
            rows += flat(value, label, name.removeprefix(stem(name))) or [(label, "none")]
        elif isinstance(value, (list, tuple)) and value and all(isinstance(one, Mapping) for one in value):
            for number, one in enumerate(value, start=1):
                rows += flat(one, f"{label} {number}")
        elif isinstance(value, (list, tuple)):
            rows.append((label, "; ".join(figure(full, item) for item in value) or "none"))
        else:
            rows.append((label, figure(full, value)))
    return rows


def title_block(kind: str, title: str, cells: Sequence[tuple[str, str]], about: str = "") -> str:
    """The head of the sheet: what it is, and a block of small cells as on a drawing."""
    inner = "".join(f"<div><dt>{escape(name)}</dt><dd>{escape(text)}</dd></div>" for name, text in cells if text)
    note = f'<p class="about">{escape(about)}</p>' if about else ""
    mark = (
        '<svg class="mark" viewBox="0 0 24 24" aria-hidden="true">'
        '<path d="M12 3a9 9 0 0 1 0 18" class="warm"/><path d="M12 21a9 9 0 0 1 0-18" class="cold"/></svg>'
    )
    return (
        f'<header><div class="what">{mark}<p>{escape(kind)}</p><h1>{escape(title)}</h1>{note}</div>'
        f'<dl class="block">{inner}</dl></header>'
    )


def moment(stamp: Any) -> str:
    """An ISO 8601 time as a reader writes it; text of another form is left as it is."""
    try:
        when = datetime.fromisoformat(str(stamp))
    except ValueError:
        return str(stamp or "")
    zone = "" if when.tzinfo is None else " UTC" if not when.utcoffset() else f" {when:%z}"
    return f"{when:%Y-%m-%d %H:%M}{zone}"


def cautions() -> str:
    """The cautions that go with every page."""
    rows = "".join(f"<li><b>{escape(name)}</b> {escape(text)}</li>" for name, text in CAUTIONS)
    return f'<ul class="cautions">{rows}</ul>'


def sentences(lines: Sequence[str]) -> str:
    """A plain list of sentences."""
    if not lines:
        return ""
    kind = ' class="many"' if len(lines) > 2 * LONG else ""
    return f"<ul{kind}>" + "".join(f"<li>{escape(one)}</li>" for one in lines) + "</ul>"
