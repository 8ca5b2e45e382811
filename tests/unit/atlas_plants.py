"""Plants for the tests of the atlas: the kept files, pieces of text changed in one of them, and a chain of loops."""

from pathlib import Path

from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant

FILES = Path(__file__).resolve().parent / "plant" / "files"
LETTERS = {
    "a": "a_plain",
    "b": "b_reversing",
    "c": "c_three_loops",
    "d": "d_joined",
    "e": "e_router",
    "e2": "e2_router_two_zones",
    "f": "f_secondary",
}

PLATES = """\
format = "heatwright plant 1"
name = "Plates"
[pack.pack]
plate = "1200 W/K"
[drive_unit.drive]
[zone.cabin]
[pump]
one = {}
two = {}
three = {}
[coolant_exchanger]
near = {}
far = {}
[radiator.radiator]
[blower.blower]
[front]
stack = ["radiator"]
[lines.coolant]
first = "one > pack > near.a > one"
middle = "two > near.b > far.a > two"
last = "three > far.b > radiator > drive > three"
[lines.air]
box = "outside > blower > @box"
in = "@box > cabin"
out = "cabin >> outside"
"""


def kept(letter: str) -> Plant:
    """One of the kept plants."""
    return load_plant(FILES / f"{LETTERS[letter]}.plant.toml")


def changed(folder: Path, letter: str, *changes: tuple[str, str]) -> Plant:
    """A kept plant that extends no other, with every occurrence of some texts replaced."""
    text = (FILES / f"{LETTERS[letter]}.plant.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return written(folder, text)


def written(folder: Path, text: str) -> Plant:
    """A plant from its text."""
    path = folder / "some.plant.toml"
    path.write_text(text, encoding="utf-8")
    return load_plant(path)


def chain_text(valves: int) -> str:
    """A row of pumped loops with a four-way valve between neighbours: apart, one ring, or one meeting point."""
    last = valves
    bodies = ["pack", "drive", *(f"box{number}" for number in range(2, last + 1))]
    lines = [f'loop0 = "v0.b > pump0 > {bodies[0]} > v0.a"']
    for number in range(1, last):
        lines.append(f'loop{number} = "v{number - 1}.d > pump{number} > {bodies[number]} > v{number}.a"')
        lines.append(f'back{number} = "v{number}.b > v{number - 1}.c"')
    lines.append(f'loop{last} = "v{last - 1}.d > pump{last} > {bodies[last]} > v{last - 1}.c"')
    positions = '{ apart = "a-b, c-d", together = "a-d, c-b", meeting = "a-b-c-d" }'
    return "\n".join(
        [
            'format = "heatwright plant 1"\nname = "Chain"\n[pack.pack]\nplate = "1200 W/K"\n[drive_unit.drive]',
            "[zone.cabin]\n[blower.blower]\n[pump]",
            *(f"pump{number} = {{}}" for number in range(last + 1)),
            "[electronics]",
            *(f"{body} = {{}}" for body in bodies[2:]),
            "[valve]",
            *(f"v{number} = {{ positions = {positions} }}" for number in range(valves)),
            "[lines.coolant]",
            *lines,
            '[lines.air]\nbox = "outside > blower > @box"\nin = "@box > cabin"\nout = "cabin >> outside"\n',
        ]
    )
