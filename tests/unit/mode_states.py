"""States written by hand, and the plants they belong to."""

from functools import cache
from pathlib import Path

from heatwright.modes.model import Aired, State, Stream
from heatwright.modes.normal import Nature
from heatwright.modes.sides import Sides
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant

FILES = Path(__file__).parent / "plant" / "files"
NAMES = {
    "a": "a_plain",
    "b": "b_reversing",
    "c": "c_three_loops",
    "d": "d_joined",
    "e": "e_router",
    "f": "f_secondary",
    "e2": "e2_router_two_zones",
}


@cache
def plant(letter: str) -> Plant:
    """One of the seven plants kept as files."""
    return load_plant(FILES / f"{NAMES[letter]}.plant.toml")


def sides(car: Plant, one: State) -> Sides:
    """A state of a plant, to be read."""
    return Sides(Nature(car), one)


def words(text: str) -> frozenset[str]:
    return frozenset(text.split())


def state(
    *circuits: str,
    hot: str = "",
    cold: str = "",
    gas: bool = False,
    air: tuple[str, ...] = (),
    feed: str = "",
    pads: str = "",
) -> State:
    """A state from words: circuits "drive radiator", air "core > cabin < evaporator", feed "cabin=fresh"."""
    streams = {Stream(words(hot), words(cold), gas)} if hot or cold else set()
    return State(
        circuits=frozenset(words(one) for one in circuits),
        streams=frozenset(streams),
        air=frozenset(_aired(one) for one in air),
        feed=frozenset((zone, kind) for zone, _, kind in (one.partition("=") for one in feed.split())),
        pads=words(pads),
    )


def _aired(text: str) -> Aired:
    head, _, after = text.partition("<")
    part, _, zones = head.partition(">")
    return Aired(part.strip(), words(zones), words(after))
