"""The answer of a run in five sentences, each from its own numbers; what a run does not hold is left out."""

from __future__ import annotations

from heatwright.draw.axes import span_words
from heatwright.draw.quantities import figure, plain_number, words
from heatwright.outcome import J_PER_KWH
from heatwright.report import pick
from heatwright.run import Run
from heatwright.study.heats import heats


def answer_sentences(run: Run) -> list[str]:
    """Sentences on energy, range, cabin, pack and drive unit, and heat with the ledger."""
    every = (_energy(run), _range(run), _cabin(run), _bodies(run), _heat(run))
    return [" ".join(found) for found in every if found]


def _energy(run: Run) -> list[str]:
    used = run.summary.get("energy_used_kwh")
    if used is None:
        return []
    per = run.summary.get("energy_kwh_per_100km")
    over = f" over {figure('of_km', run.summary.get('distance_km'))}" if run.summary.get("distance_km") else ""
    head = f"{figure('of_kwh', used)} were used{over}"
    head += f", {figure('of_kwh_per_100km', per)}" if per else ""
    shares = sorted(run.energy_kwh.items(), key=lambda row: -row[1])[:2]
    total = sum(run.energy_kwh.values())
    most = " and ".join(f"{100 * value / total:.0f} % for {words(use)}" for use, value in shares) if total > 0 else ""
    return [f"{head}; {most}." if most else f"{head}."]


def _range(run: Run) -> list[str]:
    found = []
    if run.summary.get("range_km"):
        found.append(
            f"At that rate and weather a full pack carries the car {figure('of_km', run.summary['range_km'])}."
        )
    ends = [run.summary.get(key) for key in ("soc_start", "soc_end")]
    if None not in ends:
        found.append(f"The charge went from {figure('soc', ends[0])} to {figure('soc', ends[1])}.")
    for one in run.summary.get("charges", ()):
        told = f"took {one['minutes']:.1f} min" if one["reached"] else "did not reach what was asked"
        found.append(f"The charge at '{one['segment']}' {told}.")
    return found


def _cabin(run: Run) -> list[str]:
    comfort, found = run.comfort, []
    if "time_to_20c_s" in comfort:
        warm = comfort["time_to_20c_s"]
        found.append(f"The cabin was at 20 °C {span_words(warm)} after it was first wanted." if warm is not None
                     else "The cabin never reached 20 °C.")  # fmt: skip
    for key, words_ in (("short_k_min", "too cold"), ("over_k_min", "too warm")):
        if comfort.get(key, 0.0) > 1.0:
            found.append(f"With people aboard it was {words_} by {comfort[key]:.0f} K·min.")
    if "fogged_s" in comfort:
        fogged = comfort["fogged_s"]
        found.append(f"The glass was fogged for {span_words(fogged)}." if fogged else "The glass stayed clear.")
    return found


def _bodies(run: Run) -> list[str]:
    found = []
    known = dict(pick.bodies(run))
    for body in ("Pack", "Drive unit"):
        if body in known:
            values = run.series[known[body]]
            ends = " to ".join(figure("t_k", float(values[k])) for k in (0, -1))
            found.append(f"{'The pack' if body == 'Pack' else 'the drive unit'} went from {ends}")
    told = [", ".join(found) + "."] if found else []
    held = run.summary.get("drive_derated_s")
    if held is not None:
        told.append(f"Heat held it back for {span_words(held)}." if held else "Nothing held the drive unit back.")
    return told


def _heat(run: Run) -> list[str]:
    told = []
    if run.books:
        found = heats(run)
        if found.sources and found.sinks:
            most, least = found.sources[0], found.sinks[0]
            ends = [figure("of_kwh", abs(one.joules) / J_PER_KWH) for one in (most, least)]
            went = "was kept by" if least.kind == "stored" else "left by"
            told.append(
                f"Of {figure('of_kwh', found.throughput_j / J_PER_KWH)} of heat most came by {most.words}, {ends[0]},"
                f" and most {went} {least.words}, {ends[1]}."
            )
    relative = run.ledger.get("residual_relative")
    if relative is not None:
        told.append(f"The energy ledger leaves over {plain_number(float(relative))} of what went through it.")
    return told
