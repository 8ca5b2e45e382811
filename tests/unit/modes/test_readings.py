"""From states found to modes: ids, families, and modes that others better."""

from mode_states import plant, state

from heatwright.modes.found import Found
from heatwright.modes.model import State
from heatwright.modes.readings import read_states


def found(running: str, flags: tuple[str, ...] = ()) -> Found:
    return Found(4, {"inlet": "fresh"}, (), frozenset(running.split()), 1, flags)


def test_modes_are_read() -> None:
    states = {
        state(): found(""),
        state(feed="cabin=recirculated"): found("blower"),
        state("drive radiator"): found("drive_pump", ("drive_pump idles backwards",)),
    }
    modes, families = read_states(plant("a"), states)
    assert [mode.title for mode in modes] == ["Everything off", "Drive to radiator", "Recirculated air only"]
    off, drive, air = modes
    assert drive.flags == ("drive_pump idles backwards",)
    assert off.flags == ("parked only: a drive unit or electronics stands in still coolant",)
    assert off.family == air.family != drive.family
    assert {one.id for one in families} == {off.family, drive.family}
    assert drive.needs == {"drive unit cooled", "heat put outside"}
    assert drive.combinations == 4


def test_a_mode_is_dominated_by_equal_moves_with_fewer_devices() -> None:
    """Recirculating air with nothing active moves no heat, and neither does a car at rest."""
    states: dict[State, Found] = {
        state(): found(""),
        state(feed="cabin=recirculated"): found("blower"),
        state(feed="cabin=fresh"): found("blower"),
    }
    modes, _ = read_states(plant("a"), states)
    by_title = {mode.title: mode for mode in modes}
    assert by_title["Recirculated air only"].dominated_by == by_title["Everything off"].id
    assert by_title["Fresh air only"].dominated_by is None
    assert not by_title["Recirculated air only"].useful
