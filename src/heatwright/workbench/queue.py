"""The run queue: jobs one after the other, each in a process of its own, with progress and a way to stop.

A job is a run, or the draws that give verdicts on runs that lie on the bench.
"""

from __future__ import annotations

import contextlib
import json
import shutil
import subprocess
import sys
import threading
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import IO, Any

from heatwright.errors import InputError
from heatwright.workbench import verdicts
from heatwright.workbench.study import MADE, Study

FULL = 20
"""Most jobs that may wait."""
RUN, VERDICT = "run", "verdict"
COMMAND = (sys.executable, "-m", "heatwright.workbench.worker")
AHEAD_S = 1.5
"""How long nothing happens before a process is started for the next job."""


@dataclass(frozen=True)
class Job:
    """One march asked for: state is waiting, running, done, failed or cancelled; `run` the id it was kept under.

    `base` : id of the run that it was changed from, "" where there is none. `runs` : ids that a verdict is asked of.
    """

    id: str
    name: str
    plant: str = ""
    trip: str = ""
    changes: Mapping[str, str] = field(default_factory=dict)
    trip_changes: Mapping[str, str] = field(default_factory=dict)
    strategy: str = "table"
    kind: str = RUN
    base: str = ""
    runs: tuple[str, ...] = ()
    state: str = "waiting"
    share: float = 0.0
    said: str = ""
    problems: tuple[Mapping[str, Any], ...] = ()
    run: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


class Queue:
    """Runs the jobs of one study; `version` counts changes, for whoever watches.

    A process that has loaded what a march needs waits for the next job, so that a changed number is soon run.
    """

    def __init__(self, study: Study) -> None:
        self.study = study
        self.version = 0
        self._jobs: dict[str, Job] = {}
        self._change = threading.Condition()
        self._process: subprocess.Popen[str] | None = None
        self._spare: subprocess.Popen[str] | None = None
        self._closed = False
        self._thread = threading.Thread(target=self._work, daemon=True)
        self._thread.start()

    @property
    def jobs(self) -> tuple[Job, ...]:
        """Every job of this start."""
        with self._change:
            return tuple(self._jobs.values())

    def add(self, name: str, **what: Any) -> Job | None:
        """Put a job at the end, `what` as in `Job`; None where too many wait."""
        with self._change:
            if sum(one.state in ("waiting", "running") for one in self._jobs.values()) >= FULL:
                return None
            job = Job(f"j{len(self._jobs)}", name, **what)
            self._jobs[job.id] = job
            self._changed()
        return job

    def cancel(self, key: str) -> bool:
        """Stop a job that waits or runs."""
        with self._change:
            job = self._jobs.get(key)
            if job is None or job.state not in ("waiting", "running"):
                return False
            if job.state == "running":
                self._let_go()
            self._jobs[key] = replace(job, state="cancelled")
            self._changed()
        return True

    def close(self) -> None:
        """Stop everything."""
        with self._change:
            self._closed = True
            self._let_go()
            self._changed()
        self._thread.join(10.0)
        if self._spare is not None:
            _end(self._spare)

    def _let_go(self) -> None:
        """End the input of the process that runs: it stops, and leaves nothing behind."""
        if self._process is not None and self._process.stdin is not None:
            with contextlib.suppress(OSError):
                self._process.stdin.close()

    def _changed(self) -> None:
        self.version += 1
        self._change.notify_all()

    def _work(self) -> None:
        while True:
            with self._change:
                while not self._closed and not any(one.state == "waiting" for one in self._jobs.values()):
                    if not self._change.wait(AHEAD_S) and self._spare is None and not self._closed:
                        self._spare = _start()
                if self._closed:
                    return
                job = next(one for one in self._jobs.values() if one.state == "waiting")
                self._jobs[job.id] = replace(job, state="running")
                ready = self._spare is not None and self._spare.poll() is None
                self._process, self._spare = (self._spare if ready else None) or _start(), None
                self._changed()
            self._follow(job.id, self._process)
            with self._change:
                self._let_go()
                self._process = None

    def _follow(self, key: str, process: subprocess.Popen[str]) -> None:
        assert process.stdin is not None
        assert process.stdout is not None
        self._send(key, process.stdin)
        ended: dict[str, Any] = {}
        for line in process.stdout:
            said = json.loads(line)
            ended = said if {"done", "failed"} & set(said) else ended
            self._note(key, **{k: v for k, v in (("share", said.get("share")), ("said", said.get("say"))) if v})
        code = process.wait()
        process.stdout.close()
        with self._change:
            cancelled = self._jobs[key].state == "cancelled"
            if cancelled and "done" in ended:  # it ended before it heard of it
                _drop(self.study.folder / MADE / ended["done"].rpartition("/")[2])
            if self._jobs[key].state != "running" or self._closed:
                return
            kind = self._jobs[key].kind
        if "done" in ended and kind == VERDICT:
            self._note(key, state="done", share=1.0)
            return
        if "done" in ended:
            kept = self.study.take(self.study.folder / MADE / ended["done"].rpartition("/")[2])
            self._note(key, state="done", share=1.0, run=kept.id)
            return
        found = ended.get("failed") or [{"where": "run", "found": f"the process of the march ended with {code}"}]
        self._note(key, state="failed", problems=tuple(found))

    def _send(self, key: str, to: IO[str]) -> None:
        """Hand a process its job; where a file has gone or broken since it was asked for, say so and let it end."""
        try:
            order = self._order(self._jobs[key])
        except InputError as failure:
            self._note(key, state="failed", problems=tuple(one.as_json() for one in failure.problems))
            to.close()
            return
        with contextlib.suppress(OSError, ValueError):  # it may be let go of before it has its job
            to.write(json.dumps(order) + "\n")
            to.flush()

    def _note(self, key: str, **what: Any) -> None:
        if what:
            with self._change:
                self._jobs[key] = replace(self._jobs[key], **what)
                self._changed()

    def _order(self, job: Job) -> dict[str, Any]:
        if job.kind == VERDICT:
            runs = [self.study.run(one) for one in job.runs]
            order = verdicts.ask(self.study, runs)
            return {**job.as_json(), **order, "folder": str(verdicts.free_place(self.study))}
        place = self.study.folder / MADE
        number = next(k for k in range(1, 100000) if not (place / f"run_{k}").exists())
        return {
            **job.as_json(),
            "plant_source": self.study.plant_source(job.plant),
            "trip_source": self.study.trip_source(job.trip),
            "folder": str(place / f"run_{number}"),
        }


def _drop(place: Path) -> None:
    """Take away what a job made that nobody wants any more."""
    if place.is_dir():
        shutil.rmtree(place, ignore_errors=True)
    else:
        place.unlink(missing_ok=True)


def _start() -> subprocess.Popen[str]:
    return subprocess.Popen(COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8")


def _end(process: subprocess.Popen[str]) -> None:
    """Let a process go that has no job, and wait until it has gone."""
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            with contextlib.suppress(OSError):
                pipe.close()
    try:
        process.wait(10.0)
    except subprocess.TimeoutExpired:  # still loading, on a busy machine; it has nothing to lose
        process.kill()
        process.wait()
