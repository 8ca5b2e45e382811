"""The few helpers every picture is written with: elements, text of known width, the frame."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from heatwright.draw.palette import css_variables, ink

FONT = "system-ui,'Segoe UI',Roboto,'Noto Sans','Liberation Sans',Arial,sans-serif"
SIZE_PX = 12.5
LINE_PX = 15.5

_NARROW = frozenset("iljtfI.,:;'|!()[] ·-")
_WIDE = frozenset("mwMW%@—")


def num(value: float) -> str:
    """Coordinate with at most one decimal, no trailing zero and no negative zero."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def element(tag: str, content: str = "", **attributes: str | float) -> str:
    """One SVG element; `stroke_width` becomes `stroke-width`, `class_` becomes `class`; empty ones go."""
    parts = [tag]
    for name, value in attributes.items():
        shown = num(value) if isinstance(value, (int, float)) else value
        if shown != "":
            parts.append(f'{name.rstrip("_").replace("_", "-")}="{escape(shown, quote=True)}"')
    head = " ".join(parts)
    return f"<{head}>{content}</{tag}>" if content else f"<{head}/>"


def text(
    x: float,
    y: float,
    words: str,
    *,
    anchor: str = "",
    weight: str = "",
    fill: str = "",
    size: float = SIZE_PX,
) -> str:
    """Text with its baseline at y."""
    size_text = "" if size == SIZE_PX else num(size)
    return element(
        "text", escape(words), x=x, y=y, text_anchor=anchor, font_weight=weight, style=paint(fill=fill),
        font_size=size_text,
    )  # fmt: skip


def paint(fill: str = "", stroke: str = "", width: float = 0.0, dash: str = "") -> str:
    """Value of a style attribute: CSS variables work there and not in presentation attributes."""
    parts = [("fill", fill), ("stroke", stroke), ("stroke-width", num(width) if width else "")]
    parts.append(("stroke-dasharray", dash))
    return ";".join(f"{name}:{value}" for name, value in parts if value)


def box(x: float, y: float, width: float, height: float, fill: str, *, tip: str = "", radius: float = 0) -> str:
    """Filled rectangle, with a tip shown under the pointer."""
    content = f"<title>{escape(tip)}</title>" if tip else ""
    rounding = num(radius) if radius else ""
    return element("rect", content, x=x, y=y, width=max(width, 0.0), height=height, rx=rounding, style=paint(fill=fill))


def line(x1: float, y1: float, x2: float, y2: float, stroke: str, *, width: float = 1, dash: str = "") -> str:
    """Straight line."""
    d = f"M{num(x1)} {num(y1)}L{num(x2)} {num(y2)}"
    return element("path", d=d, style=paint(fill="none", stroke=stroke, width=width, dash=dash))


def text_width(words: str, size: float = SIZE_PX, bold: bool = False) -> float:
    """Width that the words need at most in the usual system fonts, in px."""
    share = 0.0
    for letter in words:
        if letter in _NARROW:
            share += 0.36
        elif letter in _WIDE:
            share += 0.98
        elif letter.isupper():
            share += 0.70
        else:
            share += 0.61
    return share * size * (1.08 if bold else 1.0)


def wrapped(words: str, width: float, size: float = SIZE_PX) -> list[str]:
    """The words broken at spaces, not at no-break ones, into lines that fit `width`; longer words get a hyphen."""
    lines: list[str] = []
    current = ""
    for word in filter(None, words.split(" ")):
        trial = f"{current} {word}" if current else word
        if text_width(trial, size) <= width:
            current = trial
            continue
        if current:
            lines.append(current)
        while text_width(word, size) > width and len(word) > 4:
            cut = max(k for k in range(3, len(word)) if k == 3 or text_width(word[:k] + "-", size) <= width)
            lines.append(word[:cut] + "-")
            word = word[cut:]
        current = word
    return [*lines, current] if current else lines


def spread(wanted: list[tuple[float, float]], top: float, bottom: float) -> list[float]:
    """Centres for labels of (wanted centre, height) so that none overlaps, as near as wanted as can be."""
    order = sorted(range(len(wanted)), key=lambda k: wanted[k][0])
    centres = [0.0] * len(wanted)
    edge = top
    for k in order:
        centre, height = wanted[k]
        centres[k] = max(centre, edge + height / 2)
        edge = centres[k] + height / 2
    edge = bottom
    for k in reversed(order):
        height = wanted[k][1]
        centres[k] = min(centres[k], edge - height / 2)
        edge = centres[k] - height / 2
    return centres


def picture(width: float, height: float, body: str, title: str, note: str = "") -> str:
    """The frame: a view box that scales to the page, a title and a description for those who listen."""
    about = f"<title>{escape(title)}</title>" + (f"<desc>{escape(note)}</desc>" if note else "")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="hw" viewBox="0 0 {num(width)} {num(height)}"'
        f' role="img" font-family="{FONT}" font-size="{num(SIZE_PX)}" style="{paint(ink("ink"))}">'
        f"{about}{body}</svg>"
    )


def stacked(drawings: Sequence[str], gap: float, title: str, note: str) -> str:
    """Pictures of one width beneath each other as one."""
    parts, y, wide = [], 0.0, 0.0
    for one in drawings:
        _, _, wide, height = (float(part) for part in one.partition('viewBox="')[2].partition('"')[0].split())
        inside = one[one.index(">") + 1 : one.rindex("</svg>")]
        parts.append(element("g", inside, transform=f"translate(0 {num(y)})"))
        y += height + gap
    return picture(wide, y - gap, "".join(parts), title, note)


def standalone(drawing: str, *, night: bool = False) -> str:
    """A picture as a file of its own: its colours and ground inside it; `night` keeps it dark for every reader."""
    style = f"<style>{css_variables(night=night)}svg{{background:var(--hw-paper)}}</style>"
    start = drawing.index(">") + 1
    return drawing[:start] + style + drawing[start:]
