"""What foresight is worth, for a terminal."""

from __future__ import annotations

from textwrap import fill

from heatwright.study.foresee import Foresight, Found, Wrong
from heatwright.study.reduced_forms import named
from heatwright.study.reference import REFERENCE, Reference
from heatwright.study.table import DASH, WIDTH, aligned, number

FORMS = {"constant": "constant price", "path": "path of three knots", "standing": "derived, other standing price"}
NOTE = (
    "Best found within the evaluations, not proven best. A price that suits one trip, found with that trip in hand, is "
    "not a rule for the next."
)
MODEL = (
    "Its scores are not those of the plant: three stores of heat, long steps, no humidity, nothing for a switch; where "
    "the trip wants the cabin made ready, that counts as people aboard."
)
REDUCED = {
    "derived": "derived prices", "constant": "constant prices of all three stores",
    "path": "the programme's own prices over time", "local": "the programme's own prices where the march is",
}  # fmt: skip
ITSELF = (
    "Score itself: every step is chosen by what it adds to the score, less what the heat it keeps is worth; so what is "
    "left above is the prices', and the rest is the dispatch's own terms."
)
NONE = (
    "The trip has no fast charge, or pack_price is given: the prices as run use no forecast, so there is no wrong one."
)


def foresight_as_text(found: Foresight) -> str:
    """Return scores by form of price, what wrong forecasts cost, and the reference."""
    rows = [["price of pack heat", "score, kWh", "saves, %", "evaluations"]]
    rows += [["derived, as run", number(found.score_kwh, 3), "", "1"]]
    rows += [_form(one, found.score_kwh) for one in found.found]
    saves = 100.0 * (1.0 - found.best_found_kwh / found.score_kwh)
    blocks = [f"{found.plant} on {found.trip}: what foresight is worth", "", *aligned(rows), ""]
    blocks += [f"{FORMS[one.form]}: {_prices(one)} J/J" for one in found.found]
    blocks += ["", f"best found {number(found.best_found_kwh, 3)} kWh, {number(saves, 1)} % below the derived prices"]
    blocks += [fill(NOTE, WIDTH)]
    blocks += ["", *_reduced(found.reference), ""]
    if found.wrong:
        head = ["wrong forecast", "score, kWh", "right, kWh", "costs, %", "charge, min", "vetoes"]
        blocks += aligned([head, *(_wrong(one) for one in found.wrong)])
        vetoes = [f"{one.what}: {', '.join(one.vetoes)}" for one in found.wrong if one.vetoes]
        blocks += ["", "what no score makes good", *vetoes] if vetoes else []
        return "\n".join(fill(one, WIDTH) if one in vetoes else one for one in blocks)
    return "\n".join([*blocks, fill(NONE, WIDTH)])


def _reduced(found: Reference | str) -> list[str]:
    """Return the marches of the reduced model, or why there are none."""
    if isinstance(found, str):
        return [fill(f"dynamic programme: {DASH}; {found}", WIDTH)]
    best = found.best.score_kwh
    rows = [["on the reduced model", "dispatch, kWh", "above, %", "score itself, kWh", "above, %"]]
    rows += [["dynamic programme", number(best, 3), "", "", ""]]
    for one in found.forms:
        of = [(march.score_kwh, found.above_percent(march)) for march in (one.dispatch, one.same_terms)]
        rows.append([REDUCED[one.name], *(text for kwh, above in of for text in _above(kwh, above))])
    for words, kwh in (
        (f"pack price {number(found.pack_price, 1)} J/J throughout, no others", found.pack_kwh),
        ("no prices", found.none_kwh),
    ):
        rows.append([words, *_above(kwh, 100.0 * (kwh / best - 1.0)), "", ""])
    steps, grid = found.best.t_s.size, " x ".join(str(n) for n in found.grid)
    told = f"Dynamic programme: {REFERENCE}; {steps} steps, grid {grid}. {MODEL}"
    constant = found.form("constant")
    levels = ", ".join(f"{store} {number(price, 2)}" for store, price in named(constant.levels or ()).items())
    searched = f"Constant prices: {levels} J/J, best found of {constant.marches} marches."
    return [*aligned(rows), "", fill(f"{searched} {ITSELF}", WIDTH), "", fill(told, WIDTH)]


def _above(kwh: float, percent: float) -> list[str]:
    return [number(kwh, 3), number(percent, 1, plus=True)]


def _form(one: Found, as_run_kwh: float) -> list[str]:
    saves = 100.0 * (1.0 - one.score_kwh / as_run_kwh)
    return [FORMS[one.form], number(one.score_kwh, 3), number(saves, 1, plus=True), str(one.evaluations)]


def _prices(one: Found) -> str:
    if one.path is None or len(one.path) == 1:
        return number(one.prices[0], 2)
    return ", ".join(f"{number(price, 2)} at {t / 60.0:.0f} min" for t, price in one.path)


def _wrong(one: Wrong) -> list[str]:
    return [
        one.what, number(one.score_kwh, 3), number(one.right_kwh, 3), number(one.percent, 1, plus=True),
        number(one.charge_min or None, 1), str(len(one.vetoes)) if one.vetoes else "",
    ]  # fmt: skip
