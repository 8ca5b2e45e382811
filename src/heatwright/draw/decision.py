"""Why a mode ran: the needs of an instant, and the candidates with the terms of their scores as stacked bars."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heatwright.dispatch.why import TERMS, Decision, Line
from heatwright.draw.palette import ink, trace
from heatwright.draw.quantities import signed
from heatwright.draw.svg import LINE_PX, box, element, line, paint, picture, text, text_width, wrapped
from heatwright.kernel import dispatch_names as dn
from heatwright.study.why_text import TERM_WORDS, clock

WIDTH = 960.0
NAME = 330.0
FROM, TO = NAME + 24.0, WIDTH - 96.0
BAR = 20.0
GAP = 16.0
CHIP = 20.0
LEAST_W = 0.5
CHIPS = {
    "heat": "cabin warmer", "cool": "cabin cooler", "dry": "glass dry", "pack_in_w": "pack warmer",
    "pack_out_w": "pack cooler", "drive": "drive unit cooler", "frost": "front free of frost",
}  # fmt: skip
# hue and whether the paper is mixed in, so that nine terms keep nine looks
LOOKS = {
    "electric_w": (0, 100), "cabin_w": (1, 100), "dry_w": (3, 100), "pack_w": (2, 100), "drive_w": (4, 100),
    "frost_w": (0, 45), "soft_w": (5, 100), "stored_w": (3, 45), "start_w": (1, 45),
}  # fmt: skip


def decision_picture(one: Decision) -> str:
    """SVG of one decision: needs that were on, each candidate's score and its terms [W], and the reason.

    Terms below zero, as heat that is kept and worth something, stand to the left of the line. The lowest score wins.
    """
    able = [x for x in one.candidates if x.score_w < dn.IMPOSSIBLE_W]
    terms = [t for t in TERMS if any(abs(x.terms_w[t]) >= LEAST_W for x in able)]
    scale, zero = _scale(able)
    body = [text(4, 14, f"Why, at {clock(one.t_s)} h:min:s", weight="650"), _chips(one.needs)]
    y = 64.0
    for place, candidate in enumerate(one.candidates, 1):
        drawn, high = _candidate(candidate, place, candidate.number == one.ran, y, scale, zero)
        body.append(drawn)
        y += high + GAP
    body.append(line(zero, 60, zero, y - GAP + 4, ink("ink"), width=1))
    key, y = _key(terms, y + 2)
    body.append(key)
    for words in wrapped(f"Why: {one.reason}.", (WIDTH - 12) / 1.08, 14):
        y += 18
        body.append(text(4, y, words, weight="600", size=14))
    ranked = "; ".join(f"{x.title} {_watts(x)}{' (ran)' if x.number == one.ran else ''}" for x in one.candidates)
    return picture(WIDTH, y + 10, "".join(body), "Why a mode ran", f"{ranked}. {one.reason}")


def _watts(one: Line) -> str:
    return "not possible" if one.score_w >= dn.IMPOSSIBLE_W else f"{signed(one.score_w, 0)} W"


def _scale(able: Sequence[Line]) -> tuple[float, float]:
    """Pixels a watt, and the column of zero."""
    high = max((sum(max(v, 0.0) for v in x.terms_w.values()) for x in able), default=1.0)
    low = min((sum(min(v, 0.0) for v in x.terms_w.values()) for x in able), default=0.0)
    scale = (TO - FROM) / max(high - low, 1e-9)
    return scale, FROM - low * scale


def _chips(needs: Mapping[str, float]) -> str:
    """A plate for every need, filled where it is on."""
    parts, x = [text(4, 42, "needed", fill=ink("soft"))], 62.0
    for name, words in CHIPS.items():
        on = needs[name] > 0.5
        wide = text_width(words, 11) + 16
        fill, front = (ink("accent"), ink("on-dark")) if on else ("none", ink("soft"))
        style = paint(fill, ink("accent") if on else ink("rule"), 1)
        parts.append(element("rect", x=x, y=28, width=wide, height=CHIP, rx="10", style=style))
        parts.append(text(x + 8, 42, words, fill=front, size=11))
        x += wide + 6
    return "".join(parts)


def _candidate(one: Line, place: int, ran: bool, y: float, scale: float, zero: float) -> tuple[str, float]:
    """Title, bars to both sides of zero, score; returns the height."""
    lines = wrapped(f"{place}. {one.title}", (NAME - 8) / (1.1 if ran else 1.0))
    high = max(BAR, len(lines) * LINE_PX + (LINE_PX if ran else 0))
    weight = "650" if ran else ""
    parts = [text(4, y + 12 + k * LINE_PX, words, weight=weight) for k, words in enumerate(lines)]
    if ran:
        parts.append(text(4, y + 12 + len(lines) * LINE_PX, "ran", weight="650", fill=ink("accent")))
        parts.append(box(NAME + 4, y - 2, 4, high + 4, ink("accent")))
    if one.score_w >= dn.IMPOSSIBLE_W:
        parts.append(text(zero + 8, y + 15, "not possible", fill=ink("warn")))
        return "".join(parts), high
    right, left = zero, zero
    for name in TERMS:
        value = one.terms_w[name]
        wide = abs(value) * scale
        if abs(value) < LEAST_W:
            continue
        x = right if value > 0.0 else left - wide
        parts.append(box(x, y, max(wide - 0.8, 0.6), BAR, _look(name), tip=f"{TERM_WORDS[name]} {signed(value, 0)} W"))
        right, left = (right + wide, left) if value > 0.0 else (right, left - wide)
    parts.append(text(right + 6, y + 15, _watts(one), weight=weight))
    if left < zero:
        at = zero + one.score_w * scale
        parts.append(line(at, y - 3, at, y + BAR + 3, ink("ink"), width=1.6))
    return "".join(parts), high


def _look(term: str) -> str:
    hue, strong = LOOKS[term]
    return trace(hue) if strong == 100 else f"color-mix(in srgb,{trace(hue)} {strong}%,{ink('paper')})"


def _key(terms: Sequence[str], y: float) -> tuple[str, float]:
    """Swatches of the terms; returns the height reached."""
    parts, x = [], 4.0
    for name in terms:
        wide = text_width(TERM_WORDS[name], 11) + 30
        if x > 4.0 and x + wide > WIDTH:
            x, y = 4.0, y + 17
        parts.append(box(x, y, 11, 11, _look(name), radius=2) + text(x + 16, y + 9.5, TERM_WORDS[name], size=11))
        x += wide
    words = "W; the lowest score wins, an upright stroke marks it where a term lies below zero"
    parts.append(text(4, y + 27, words, fill=ink("soft"), size=11))
    return "".join(parts), y + 32
