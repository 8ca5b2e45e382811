"""Which modes a run spent its time in."""

from __future__ import annotations

from heatwright.draw.axes import span_words
from heatwright.run import Run

HEAD = ("modes by time", "id", "time", "share")
REST = "all others"


def modes_by_time(run: Run, most: int = 8) -> list[tuple[str, str, str, str]]:
    """Title, id, time and share of the modes that lasted longest, and the rest of the time in one row.

    Empty for a run whose modes nobody has looked up.
    """
    modes = sorted(run.summary.get("modes", ()), key=lambda mode: -mode["time_s"])
    whole_s = float(run.t_s[-1] - run.t_s[0]) if run.steps else 0.0
    if not modes or whole_s <= 0.0:
        return []
    shown = [mode for mode in modes[:most] if mode["time_s"] > 0.0]
    rows = [(mode["title"], mode["id"], mode["time_s"]) for mode in shown]
    rest_s = whole_s - sum(mode["time_s"] for mode in shown)
    if rest_s > 0.5:
        rows.append((REST, "", rest_s))
    return [(title, id_, span_words(time_s), f"{100.0 * time_s / whole_s:.1f} %") for title, id_, time_s in rows]
