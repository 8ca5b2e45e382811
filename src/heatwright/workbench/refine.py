"""Refines the layout of a sheet from the page: one at a time, in a process of its own, with progress and a stop."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import threading
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from heatwright.errors import InputError, Problem
from heatwright.workbench.study import Kept, Study


@dataclass(frozen=True)
class Refinement:
    """One refinement: of which run's plant, its state (running, done, failed or stopped), and what came of it."""

    run: str
    state: str = "running"
    share: float = 0.0
    before: Mapping[str, int] | None = None
    after: Mapping[str, int] | None = None
    problems: tuple[Mapping[str, Any], ...] = ()


class Refiner:
    """Refines layouts for one study; what it finds is written by its process, whole or not at all."""

    def __init__(self, study: Study) -> None:
        self.study = study
        self._last: Refinement | None = None
        self._process: subprocess.Popen[str] | None = None
        self._lock = threading.Lock()

    def facts(self, one: Kept) -> dict[str, Any]:
        """What is known of the layout of a run's plant, and of a refinement asked for it."""
        from heatwright.workbench.plumbing import layout_facts

        with self._lock:
            last, busy = self._last, self._busy()
        mine = asdict(last) if last is not None and last.run == one.id else None
        facts = {} if mine and mine["state"] == "running" else layout_facts(one.car)
        return {**facts, "refinement": mine, "busy": busy}

    def _busy(self) -> bool:
        return self._last is not None and self._last.state == "running"

    def start(self, one: Kept) -> bool:
        """Begin to refine the layout of a run's plant; False while another is being refined."""
        from heatwright.workbench.plumbing import layout_facts

        before = layout_facts(one.car)
        order = {"plant_source": self.study.plant_source(one.plant), "changes": dict(one.changes)}
        with self._lock:
            if self._busy():
                return False
            command = [sys.executable, "-m", "heatwright.workbench.layout_worker"]
            process = subprocess.Popen(
                command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
            )
            self._process, self._last = process, Refinement(one.id, before=before)
        threading.Thread(target=self._listen, args=(process, order), daemon=True).start()
        return True

    def stop(self, one: Kept) -> bool:
        """Stop the refinement of a run's plant; nothing is written. False where none runs."""
        with self._lock:
            if not self._busy() or self._last is None or self._last.run != one.id:
                return False
            self._last = replace(self._last, state="stopped")
            if self._process is not None:
                self._process.terminate()
        return True

    def close(self) -> None:
        """Stop whatever runs."""
        with self._lock:
            if self._process is not None and self._process.poll() is None:
                self._process.terminate()

    def _listen(self, process: subprocess.Popen[str], order: Mapping[str, Any]) -> None:
        """Hand the order over, and note what the process tells until it ends."""
        assert process.stdin is not None
        assert process.stdout is not None
        ended: dict[str, Any] = {}
        with contextlib.suppress(OSError):  # a process that was stopped at once
            process.stdin.write(json.dumps(order) + "\n")
            process.stdin.flush()
        for line in process.stdout:
            said = json.loads(line)
            ended = said if {"done", "failed"} & set(said) else ended
            if "share" in said:
                self._note(share=said["share"])
        code = process.wait()
        process.stdout.close()
        with contextlib.suppress(OSError):
            process.stdin.close()
        if "done" in ended:
            self._note(state="done", share=1.0, after=ended["done"])
        else:
            found = ended.get("failed") or [{"where": "sheet", "found": f"the process of the layout ended with {code}"}]
            self._note(state="failed", problems=tuple(found))

    def _note(self, **what: Any) -> None:
        with self._lock:
            if self._last is not None and self._last.state == "running":
                self._last = replace(self._last, **what)


def refuse_busy() -> InputError:
    """What is said to whoever asks for a second refinement."""
    return InputError([Problem("sheet", "another layout is being refined", "", "wait for it, or stop it")], "sheet")
