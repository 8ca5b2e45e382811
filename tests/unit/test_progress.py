"""The progress line: late, on a terminal only, and gone when the work is done."""

import io

import pytest

from heatwright import progress as module
from heatwright.progress import Progress, bar


class Screen(io.StringIO):
    def __init__(self, terminal: bool) -> None:
        super().__init__()
        self.terminal = terminal

    def isatty(self) -> bool:
        return self.terminal


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    now = [0.0]
    monkeypatch.setattr(module.time, "monotonic", lambda: now[0])
    monkeypatch.delenv(module.FORCE, raising=False)
    return now


def test_nothing_is_drawn_in_the_first_two_seconds(clock: list[float]) -> None:
    screen = Screen(True)
    progress = Progress("marching", stream=screen)
    for now in (0.0, 1.0, 1.99):
        clock[0] = now
        progress(now / 4)
    assert screen.getvalue() == ""
    clock[0] = 2.5
    progress(0.5)
    assert "marching [" in screen.getvalue()
    assert " 50 %, about 2 s to go" in screen.getvalue()


def test_the_line_is_taken_away(clock: list[float]) -> None:
    screen = Screen(True)
    with Progress("marching", stream=screen) as progress:
        clock[0] = 3.0
        progress(900, 1000)
    assert screen.getvalue().endswith("\r\x1b[K")


def test_silent_without_a_terminal(clock: list[float]) -> None:
    screen = Screen(False)
    with Progress(stream=screen) as progress:
        clock[0] = 30.0
        progress(0.5)
        progress.say("compiling")
    assert screen.getvalue() == ""


def test_forced_without_a_terminal_it_writes_lines(clock: list[float], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(module.FORCE, "1")
    screen = Screen(False)
    with Progress("marching", stream=screen) as progress:
        progress.say("compiling")
        for tenth in range(100):
            clock[0] = tenth / 10
            progress(tenth, 100)
    lines = screen.getvalue().splitlines()
    assert lines[0] == "compiling"
    assert 3 <= len(lines) <= 6
    assert "\x1b" not in screen.getvalue()


@pytest.mark.parametrize(("done", "total", "shown"), [(5, 4, "100 %"), (-1, 4, "  0 %"), (1, 0, "  0 %")])
def test_shares_out_of_range_are_clamped(clock: list[float], done: float, total: float, shown: str) -> None:
    screen = Screen(True)
    progress = Progress(stream=screen)
    clock[0] = 5.0
    progress(done, total)
    assert shown in screen.getvalue()


def test_bar_has_one_width() -> None:
    assert len({len(bar(share)) for share in (0.0, 0.33, 1.0)}) == 1


def test_time_to_go_counts_from_the_first_call(clock: list[float]) -> None:
    """A compile before the march must not make the march look slow."""
    screen = Screen(True)
    progress = Progress("marching", stream=screen)
    clock[0] = 30.0
    progress(0.1)
    assert "to go" not in screen.getvalue()
    clock[0] = 31.0
    progress(0.2)
    assert "20 %, about 8 s to go" in screen.getvalue()
