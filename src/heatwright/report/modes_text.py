"""An atlas for a terminal, at four levels: needs, families, the modes of a family, one mode with its setting."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from textwrap import fill

from heatwright.modes.model import Atlas, Family, Mode
from heatwright.modes.moves import PARKED_ONLY, WASTED_HEAT, WASTED_LIFT
from heatwright.modes.needs import NEEDS, coverage, never_together
from heatwright.modes.reach import reach_of
from heatwright.modes.record import Circuit, Record
from heatwright.modes.titles import short_titles
from heatwright.modes.transitions import Leg, Transition
from heatwright.report.text import columns

NOTE = (
    "Structure only: a mode says which way heat can go, not how much; temperatures and sizes may still forbid it. "
    "`heatwright point` and `heatwright run` work out amounts."
)

TOO_MANY = (
    "Its nets can be together in too many ways to list modes. These are its families, modes that move the same heat; "
    "`--family ID` lists the modes of one."
)


def overview_text(atlas: Atlas, width: int) -> str:
    """The first level: counts, needs, where heat can go, what is illegal; families alone where modes are too many."""
    if atlas.whole:
        blocks = [_counts(atlas), _needs(atlas), _apart(atlas, width), _reach(atlas)]
    else:
        listed = [_hanging(f"{one.id:<6}  ", one.title, width) for one in atlas.families]
        blocks = [_family_counts(atlas), fill(TOO_MANY, width), "\n".join(listed)]
    if atlas.illegal:
        rows = sorted(atlas.illegal.items(), key=lambda item: -item[1])
        blocks.append(columns([(f"{count:,}", reason) for reason, count in rows], head=("illegal", "because")))
    return "\n\n".join(block for block in [*blocks, fill(NOTE, width)] if block)


def families_text(atlas: Atlas, families: Sequence[Family], modes: Sequence[Mode], width: int) -> str:
    """The second level: families, each with how many of the modes it holds."""
    lines = [f"{_count(len(families), 'family', 'families')} of {len(atlas.families)}", "id      modes  moves"]
    by_family: dict[str, list[Mode]] = {}
    for mode in modes:
        by_family.setdefault(mode.family, []).append(mode)
    for one in families:
        flags = _shared_flags(by_family.get(one.id, []))
        text = one.title + (f" [{'; '.join(flags)}]" if flags else "")
        lines.append(_hanging(f"{one.id:<6}  {len(by_family.get(one.id, [])):>5}  ", text, width))
    return "\n".join(lines)


def none_serves(atlas: Atlas, needs: Set[str]) -> str:
    """Why no useful mode serves some needs at once: those that the plant cannot serve at all, or none together."""
    able = coverage(atlas.useful)
    cannot = [need for need in NEEDS if need in needs and not able[need]]
    if cannot:
        return "\n".join(f"{atlas.plant} has no useful mode for: {need}" for need in cannot)
    wanted = ", ".join(need for need in NEEDS if need in needs)
    return f"{atlas.plant} has no useful mode for these at once: {wanted}"


def family_text(family: Family, modes: Sequence[Mode], width: int) -> str:
    """The third level: the modes of a family, each by what sets it apart."""
    lines = [_hanging(f"{family.id}  ", family.title, width)]
    told = short_titles([mode.title for mode in modes])
    for mode, short in sorted(
        zip(modes, told, strict=True), key=lambda pair: (not pair[0].useful, len(pair[0].running))
    ):
        notes = [note for note in (_standing(mode),) if note]
        text = short + (f" [{', '.join(notes)}]" if notes else "")
        lines.append(_hanging(f"  {mode.id:<6}  {len(mode.running)} running  ", text, width))
    return "\n".join(lines)


def mode_text(atlas: Atlas, mode: Mode, known: Record, width: int) -> str:
    """The fourth level: one mode with its moves, its setting, what flows where, and what is to be said of it."""
    family = next((one.title for one in atlas.families if one.id == mode.family), "")
    moves = columns([(f"  {m.start}", m.end, m.way) for m in sorted(mode.moves)], head=("  heat from", "to", "by"))
    rows = [
        ("family", f"{mode.family}  {family}"),
        ("needs", ", ".join(need for need in NEEDS if need in mode.needs) or "none"),
        *(("flag", flag) for flag in mode.flags),
        ("better", mode.dominated_by or ""),
        ("running", ", ".join(sorted(mode.running)) or "nothing"),
        (
            "setting",
            ", ".join(f"{name}={state}" for name, state in sorted(mode.setting.items()) if name not in mode.free),
        ),
        ("any state", ", ".join(mode.free)),
        ("for outlets", "; ".join(f"{door}: {', '.join(states)}" for door, states in atlas.trim.items())),
        *_flowing(known),
        ("comes up", f"{_count(mode.combinations, 'combination')}, {_count(mode.arrangements, 'plumbing')}"),
    ]
    lines = [_hanging(f"  {name:<11}  ", text, width) for name, text in rows if text]
    return "\n".join([_hanging(f"{mode.id}  ", mode.title, width), "", moves, "", *lines])


def _flowing(known: Record) -> list[tuple[str, str]]:
    """What flows through what, what exchangers do in it, and what stands."""
    rows = [(circuit.fluid, _circuit(circuit, known.mode.running)) for circuit in known.circuits]
    for role in ("hot side", "cold side", "inert"):
        rows.append((role, ", ".join(name for name, does in known.exchangers.items() if does == role)))
    rows.append(("zones", ", ".join(f"{zone}: {kind}" for zone, kind in known.fed_by.items())))
    rows += [("still", f"{line}: {', '.join(parts)}") for line, parts in known.still.items()]
    return rows


def _circuit(circuit: Circuit, running: frozenset[str]) -> str:
    """A ring as the order of its parts, a branched circuit leg by leg; movers that stand are marked."""
    legs = [circuit.walk] if circuit.walk else [leg.parts for leg in circuit.legs if leg.parts]

    def named(part: str) -> str:
        return f"{part} (off)" if part in circuit.movers and part not in running else part

    return " | ".join(" > ".join(map(named, parts)) for parts in legs)


def transition_text(found: Transition, start: Mode, end: Mode, width: int) -> str:
    """The change from one mode to another."""
    stops = [f"{name} must stop: {why}" for name, why in found.stops.items()]
    rows = [
        ("from", f"{start.id}  {start.title}"),
        ("to", f"{end.id}  {end.title}"),
        ("compressor", "; ".join(stops) or _compressor(found, start, end)),
        ("turn off", ", ".join(found.turns_off) or "nothing"),
        ("move", "; ".join(f"{name} from {a} to {b}" for name, (a, b) in found.moves.items()) or "nothing"),
        ("turn on", ", ".join(found.turns_on) or "nothing"),
        *(("swept in", _leg(leg)) for leg in found.swept_in),
        *(("turned round", _leg(leg)) for leg in found.turned),
        *(("mixed", " with ".join(", ".join(parts) for parts in circuits)) for circuits in found.mixed),
        *(("left still", f"{leg.line}: {', '.join(leg.parts)}") for leg in found.left_still),
    ]
    return "\n".join(_hanging(f"{name:<12}  ", text, width) for name, text in rows)


def _compressor(found: Transition, start: Mode, end: Mode) -> str:
    """What becomes of the compressor where it need not stop."""
    if start.state.streams and end.state.streams:
        return "runs on"
    return "starts" if end.state.streams else "stops" if start.state.streams else "stands"


def _leg(leg: Leg) -> str:
    meets = f", together with {', '.join(leg.meets)}" if leg.meets else ""
    return f"{leg.line}: {', '.join(leg.parts)}{meets}"


def _legal(atlas: Atlas) -> list[tuple[str, str]]:
    return [
        (f"{atlas.combinations:,}", "combinations of its actuators"),
        (f"{atlas.legal:,}", f"of them legal ({100.0 * atlas.legal / atlas.combinations:.0f} %)"),
    ]


def _family_counts(atlas: Atlas) -> str:
    rows = [*_legal(atlas), (f"{len(atlas.families):,}", "families: modes that move the same heat")]
    return f"{atlas.plant}\n" + _right(rows)


def _counts(atlas: Atlas) -> str:
    modes, useful = atlas.modes, atlas.useful
    wasting = sum(WASTED_HEAT in mode.flags or WASTED_LIFT in mode.flags for mode in modes)
    rows = [
        *_legal(atlas),
        (f"{len(modes):,}", "modes: ways to run that differ"),
        (f"{len(atlas.families):,}", "families: modes that move the same heat"),
        (f"{len(useful):,}", "useful modes: no waste, and none moves the same heat with fewer of the devices"),
        (f"{sum(mode.dominated_by is not None for mode in modes):,}", "modes that another betters with fewer devices"),
        (f"{wasting:,}", "modes that only waste heat"),
        (f"{sum(PARKED_ONLY in mode.flags for mode in modes):,}", "modes for a parked car alone"),
    ]
    if atlas.folded != len(modes):
        rows.insert(3, (f"{atlas.folded:,}", "modes, mirror images taken as one"))
    return f"{atlas.plant}\n" + _right(rows)


def _needs(atlas: Atlas) -> str:
    useful = atlas.useful
    served = coverage(useful)
    families = {need: len({mode.family for mode in useful if need in mode.needs}) for need in NEEDS}
    rows = [(need, str(count) if count else "cannot", str(families[need] or "")) for need, count in served.items()]
    return columns(rows, head=("need", "useful modes", "families"), numbers=True)


def _apart(atlas: Atlas, width: int) -> str:
    """Needs that no mode serves at once."""
    others: dict[str, list[str]] = {}
    for one, other in never_together(atlas.useful):
        others.setdefault(one, []).append(other)
    wide = max(map(len, others), default=0)
    lines = [_hanging(f"  {one.ljust(wide)}  with  ", ", ".join(found), width) for one, found in others.items()]
    return "\n".join(["never at once", *lines]) if lines else ""


def _reach(atlas: Atlas) -> str:
    rows = [
        (start, end, ", ".join(f"{way} ({count})" for way, count in ways.items()))
        for (start, end), ways in reach_of(atlas.useful).items()
    ]
    return columns(rows, head=("heat from", "to", "by (useful modes)"))


def _shared_flags(modes: Sequence[Mode]) -> list[str]:
    """The flags that all of some modes carry, in few words."""
    common = set.intersection(*(set(mode.flags) for mode in modes)) if modes else set()
    return [flag.partition(":")[0] for flag in modes[0].flags if flag in common] if modes else []


def _standing(mode: Mode) -> str:
    """Why a mode is not a useful one, in a word or two."""
    if mode.dominated_by:
        return f"{mode.dominated_by} does the same with less"
    return next((flag for flag in mode.flags if flag.startswith("pure waste")), "")


def _right(rows: Iterable[tuple[str, str]]) -> str:
    listed = list(rows)
    wide = max(len(number) for number, _ in listed)
    return "\n".join(f"  {number.rjust(wide)}  {words}" for number, words in listed)


def _hanging(head: str, text: str, width: int) -> str:
    """Text wrapped beside its head."""
    return fill(head + text, max(width, len(head) + 30), subsequent_indent=" " * len(head))


def _count(number: int, word: str, words: str = "") -> str:
    return f"{number:,} {word if number == 1 else words or word + 's'}"
