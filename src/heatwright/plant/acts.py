"""What an actuator is told under a rule: a fixed value, a ramp over a signal, or a hold at a target."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from heatwright.plant.mistakes import Mistakes, listed, near
from heatwright.plant.model import Act, Part, Weights
from heatwright.plant.signals import loss_hint, most_of
from heatwright.plant.sums import Sum, must_match, read_sum
from heatwright.units import UnitError, format_quantity, parse, same_dimension, unit_of

Amount = float | Weights

LEAST_TIMES = ("min_on", "min_off")
RAMP = ("from", "to", "by", "over")
HOLD = ("from", "to", "raises", "lowers", "until", "band", "settle", *LEAST_TIMES)
LACKS = "a ramp goes from one value to another over a range of a sum; a hold works until a target, over a band"
_PLACE = re.compile(r"(\w+)(?:\s*~\s*(\w+)\s+(\S+\s*%))?")


class ActReader:
    """Reads the entries of [control.act.RULE] for the actuators of one plant."""

    def __init__(
        self,
        parts: Mapping[str, Part],
        actuators: Mapping[str, str],
        signals: Mapping[str, str],
        mistakes: Mistakes,
    ) -> None:
        self.parts, self.actuators, self.signals, self.mistakes = parts, actuators, signals, mistakes

    def read(self, rule: str, actuator: str, entry: Any) -> Act | None:
        """One entry; None if it had a mistake, which is then noted."""
        path = ("control", "act", rule, *actuator.split("."))
        name, _, key = actuator.partition(".")
        if name in self.mistakes.broken or (key == "loss" and self._reported(name, "deliberate_loss")):
            return None
        if actuator not in self.actuators:
            self._unknown(path, actuator)
            return None
        try:
            if isinstance(entry, dict):
                return self._table(actuator, entry)
            return Act("fixed", value=self.amount(actuator, entry))
        except UnitError as error:
            self.mistakes.add_unit(path, actuator, error)
            return None

    def _reported(self, name: str, *keys: str) -> bool:
        """Whether one of a part's own keys is reported already, so that what hangs on it would be an echo."""
        part = self.parts.get(name)
        return part is not None and any((part.kind, name, key) in self.mistakes.reported for key in keys)

    def _unknown(self, path: tuple[str, ...], actuator: str) -> None:
        part = self.parts.get(actuator)
        if part is not None:
            hint = loss_hint(self.parts, actuator) or f"there is {listed(self.actuators)}"
            self.mistakes.add(path, f"'{actuator}' is a {part.kind}; it cannot be told anything", "an actuator", hint)
            return
        hint = loss_hint(self.parts, actuator) or near(actuator, self.actuators)
        found = f"there is no actuator '{actuator}'"
        if actuator in self.mistakes.dropped:
            found, hint = (
                f"'{actuator}' is told something, but dropped at {self.mistakes.dropped[actuator]}",
                f"{actuator} = false",
            )
        self.mistakes.add(path, found, "an actuator of this plant", hint)

    def amount(self, actuator: str, text: Any) -> Amount:
        """A speed, power, share, position or state in SI; raises UnitError."""
        form = self.actuators[actuator]
        if form == "position":
            return self._place(actuator, text)
        if form == "state":
            states = self.parts[actuator].values["states"]
            if text not in states and not self._reported(actuator, "states"):
                raise UnitError(
                    f"{text!r} is no state of it",
                    f"one of {listed(states)}",
                    near(str(text), states, f"it knows {listed(states)}"),
                )
            return ((str(text), 1.0),)
        if text == "off":
            return 0.0
        most = most_of(self.parts, actuator)
        if text == "on" and form != "rpm":
            return most
        value = parse(text, form)
        if form == "%" and not (isinstance(text, str) and "%" in text):
            raise UnitError(f"{text!r} is not in per cent", 'text such as "60 %"', "say how much of its full speed")
        if self._reported(actuator, "power", "speed"):
            most = max(most, value)
        if not 0.0 <= value <= most * (1.0 + 1e-9):
            raise UnitError(
                f"'{text}' is more than it can do",
                f"0 to {format_quantity(most, form, 4)}",
                f"what it can do is a key of '{actuator.partition('.')[0]}'" if form != "%" else "100 % is all",
            )
        return value

    def _place(self, actuator: str, text: Any) -> Weights:
        values = self.parts[actuator].values
        positions = values["positions"]
        match = _PLACE.fullmatch(text.strip()) if isinstance(text, str) else None
        if match is None:
            sample = " ~ ".join(values["blend"][0]) + " 30 %" if values["blend"] else next(iter(positions))
            raise UnitError(
                f"{text!r} is no position", f'text such as "{sample}"', "a blend says how much of its second position"
            )
        for word in filter(None, (match[1], match[2])):
            if word not in positions and self._reported(actuator, "blend"):
                return ((next(iter(positions)), 1.0),)
            if word not in positions:
                raise UnitError(
                    f"'{word}' is no position of it",
                    f"one of {listed(positions)}",
                    near(word, positions, f"it knows {listed(positions)}"),
                )
        if match[2] is None:
            return ((match[1], 1.0),)
        share = parse(match[3], "%")
        if not 0.0 <= share <= 1.0:
            raise UnitError(f"'{text}' leaves the range", "0 % to 100 %", "0 % is the first position, 100 % the second")
        self._must_blend(actuator, {match[1], match[2]}, text)
        return ((match[1], 1.0 - share), (match[2], share))

    def _must_blend(self, actuator: str, pair: set[str], text: str) -> None:
        blends = self.parts[actuator].values["blend"]
        if self._reported(actuator, "blend"):
            return
        if len(pair) > 1 and not any(set(blend) == pair for blend in blends):
            shown = listed(" ~ ".join(blend) for blend in blends) or "none"
            raise UnitError(f"'{text}' is no blend of it", f"one of its blends: {shown}", "name the pair in its blend")

    def _table(self, actuator: str, entry: Mapping[str, Any]) -> Act:
        hold = "raises" in entry or "lowers" in entry
        allowed = HOLD if hold else RAMP
        for key in entry:
            if key not in allowed:
                raise UnitError(
                    f"'{key}' has no meaning in a {'hold' if hold else 'ramp'}", listed(allowed), _key_hint(key)
                )
        needed = ("from", "to", "until", "band") if hold else ("from", "to", "by", "over")
        missing = [key for key in needed if key not in entry]
        if missing:
            raise UnitError(f"a {'hold' if hold else 'ramp'} lacks {listed(missing)}", listed(needed), LACKS)
        if self.actuators[actuator] == "state":
            raise UnitError(
                "it has states and nothing between them", "one of its states", "give the states under two rules"
            )
        low, high = self.amount(actuator, entry["from"]), self.amount(actuator, entry["to"])
        if isinstance(low, tuple) and isinstance(high, tuple):
            resting = {name for name, weight in (*low, *high) if weight > 0.0}
            self._must_blend(actuator, resting, f"{entry['from']} to {entry['to']}")
        return self._hold(entry, low, high) if hold else self._ramp(entry, low, high)

    def _ramp(self, entry: Mapping[str, Any], low: Amount, high: Amount) -> Act:
        total = read_sum(entry["by"], self.signals)
        start, stop = self._over(entry["over"], total)
        return Act("ramp", from_=low, to=high, linear=total.linear, low=start, high=stop)

    def _over(self, text: Any, total: Sum) -> tuple[float, float]:
        sides = text.split(" to ") if isinstance(text, str) else []
        if len(sides) != 2:
            raise UnitError(
                f"over = {text!r} is no range", 'text such as "1 K to 8 K"', "say where the ramp begins and ends"
            )
        ends: list[float] = []
        for side in sides:
            one = read_sum(side, {})
            must_match(total, one, f"{text}")
            ends.append(one.linear.const)
        if ends[0] == ends[1]:
            raise UnitError(
                f"over = '{text}' has no width", "two different ends", "a sudden change is a rule with a latch"
            )
        return ends[0], ends[1]

    def _hold(self, entry: Mapping[str, Any], low: Amount, high: Amount) -> Act:
        if "raises" in entry and "lowers" in entry:
            raise UnitError("a hold that raises and lowers", "one of the two", "take one out")
        verb = "raises" if "raises" in entry else "lowers"
        held, target = read_sum(entry[verb], self.signals), read_sum(entry["until"], self.signals)
        must_match(held, target, f"{entry[verb]} until {entry['until']}")
        error = target.minus(held) if verb == "raises" else held.minus(target)
        band_unit = "K" if unit_of(held.unit).offset else held.unit
        if not same_dimension(band_unit, held.unit):
            raise UnitError(f"band is not a kind of '{held.unit}'")
        band = parse(entry["band"], band_unit)
        if band <= 0.0:
            raise UnitError(
                f"band = '{entry['band']}' has no width",
                f"more than 0 {band_unit}",
                "over the band it goes from least to most",
            )
        times = {f"{key}_s": _time(entry, key) for key in ("settle", *LEAST_TIMES)}
        return Act("hold", from_=low, to=high, linear=error, band=band, **times)


def _key_hint(key: str) -> str:
    """What to try in place of a key that has no meaning where it stands."""
    if key in LEAST_TIMES:
        return "a ramp switches nothing on or off; write it in a hold, or least_on and least_off of the compressor"
    both = {*HOLD, *RAMP}
    return near(key, both) if key not in both else "by and over make a ramp; raises or lowers make a hold"


def _time(entry: Mapping[str, Any], key: str) -> float:
    if key not in entry:
        return 0.0
    value = parse(entry[key], "s")
    if value < 0.0:
        raise UnitError(f"{key} = '{entry[key]}' lies before now", "a time of zero or more", "take the minus away")
    return value
