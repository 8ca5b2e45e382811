"""The routes of the workbench. Everything a route takes is a name looked up in a table; no route takes a path."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from importlib.resources import files
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from heatwright.errors import HeatwrightError, InputError, Problem, ToolError
from heatwright.run import plain
from heatwright.workbench import handed, verdicts
from heatwright.workbench.forms import mistakes, read_changes, set_up, trip_set_up
from heatwright.workbench.guard import Guard
from heatwright.workbench.opened import TITLES, Asked, Layer, no_run, title_of
from heatwright.workbench.page import STRATEGIES, Page, page_html, page_of
from heatwright.workbench.queue import VERDICT, Queue
from heatwright.workbench.refine import Refiner, refuse_busy
from heatwright.workbench.study import Kept, Study, driven_by

KINDS = {"js": "text/javascript", "css": "text/css", "woff2": "font/woff2", "svg": "image/svg+xml"}
LOOK_S = 0.2


def make_app(study: Study, token: str) -> tuple[Guard, Queue]:
    """The application of one study, and its run queue, which whoever starts it closes."""
    queue = Queue(study)
    bench = Bench(study, queue, token)
    gets: dict[str, Callable[[Request], Any]] = {
        "/": bench.page, "/page.json": bench.page_json, "/static/{name:path}": bench.static,
        "/runs/{run}.json": bench.frame, "/runs/{run}.f32": bench.frame_numbers, "/runs/{run}/series": bench.series,
        "/layers/{layer}.json": bench.layer, "/layers/{layer}": bench.layer_page, "/compare.json": bench.compare,
        "/set-up.json": bench.set_up, "/scenes.json": bench.scenes, "/queue.json": bench.queue_json,
        "/events": bench.events, "/runs/{run}/report.html": bench.report, "/report.json": bench.offer,
        "/report.html": bench.report, "/report.pdf": bench.report_pdf, "/runs/{run}/layout.json": bench.layout,
    }  # fmt: skip
    posts: dict[str, Callable[[Request], Any]] = {
        "/runs": bench.ask, "/check": bench.check, "/jobs/{job}/cancel": bench.cancel, "/verdicts": bench.judge,
        "/scenes": bench.keep_scenes, "/runs/{run}/layout": bench.refine,
        "/runs/{run}/layout/stop": bench.stop_refining,
    }  # fmt: skip
    routes = [Route(path, answer) for path, answer in gets.items()]
    routes += [Route(path, answer, methods=["POST"]) for path, answer in posts.items()]
    app = Starlette(routes=routes, exception_handlers={HeatwrightError: _failed})
    return Guard(app, token), queue


async def _failed(_: Request, failure: Exception) -> Response:
    if isinstance(failure, ToolError):
        return JSONResponse({"problems": [{"where": "PDF", "found": str(failure), "hint": handed.HOW}]}, 400)
    problems = failure.problems if isinstance(failure, InputError) else ()
    told = [one.as_json() for one in problems] or [{"where": "bench", "found": str(failure)}]
    return JSONResponse({"problems": told}, 400)


class Bench:
    """The answers, over one study and its queue."""

    def __init__(self, study: Study, queue: Queue, token: str) -> None:
        self.study, self.queue, self.token = study, queue, token
        self.refiner = Refiner(study)
        root = files("heatwright.workbench") / "static"
        self.assets = {one.name: one for one in root.iterdir() if one.is_file()}
        self.assets |= {f"vendor/{one.name}": one for one in (root / "vendor").iterdir()}

    async def page(self, _: Request) -> Response:
        """The page."""
        return HTMLResponse(page_html(self._page(), self.token))

    async def page_json(self, _: Request) -> Response:
        """Its twin."""
        return JSONResponse(self._page().as_json())

    def _page(self) -> Page:
        return page_of(self.study)

    async def static(self, request: Request) -> Response:
        """A file of the page, by its name in the table of them."""
        name = request.path_params["name"]
        if name not in self.assets:
            return JSONResponse({"problems": [{"where": "static", "found": "there is no such file"}]}, 404)
        return Response(self.assets[name].read_bytes(), media_type=KINDS.get(name.rpartition(".")[2], "text/plain"))

    async def frame(self, request: Request) -> Response:
        """What the page must know of a run."""

        def made() -> dict[str, Any]:
            from heatwright.workbench.frame import frame_of

            return frame_of(self._run(request)).as_json()

        return await _json(made)

    async def frame_numbers(self, request: Request) -> Response:
        """The numbers of the standing frame."""

        def made() -> bytes:
            from heatwright.workbench.frame import frame_bytes

            return frame_bytes(self._run(request))

        return await _raw(made)

    async def series(self, request: Request) -> Response:
        """Series by name."""
        names = request.query_params.get("names", "").split(",")

        def made() -> bytes:
            from heatwright.workbench.frame import series_bytes

            return series_bytes(self._run(request), names)

        return await _raw(made)

    async def layer(self, request: Request) -> Response:
        """An open layer at an instant."""
        return await _json(lambda: self._layer(request).as_json())

    async def layer_page(self, request: Request) -> Response:
        """The page with a layer open: the twin of its JSON."""

        def made() -> str:
            return page_html(self._page(), self.token, self._layer(request))

        return HTMLResponse(await run_in_threadpool(made))

    def _layer(self, request: Request) -> Layer:
        key = request.path_params["layer"]
        title_of(key)
        if not self.study.kept:
            return no_run(key)
        from heatwright.workbench.own_layers import any_layer

        return any_layer(key, self._asked(request))

    async def compare(self, request: Request) -> Response:
        """Runs side by side at an instant."""
        asked = self._asked(request)

        def made() -> dict[str, Any]:
            from heatwright.workbench.compare import side_by_side

            return side_by_side(self.study, asked.runs, asked.at_s).as_json()

        return await _json(made)

    async def set_up(self, request: Request) -> Response:
        """The form of a plant or of a trip."""
        said = request.query_params
        if "trip" in said:
            trip = said["trip"]
            return await _json(lambda: trip_set_up(trip, self.study.trip_source(trip)).as_json())
        name = said.get("plant", "")
        return await _json(lambda: set_up(name, self.study.plant_source(name)).as_json())

    async def scenes(self, _: Request) -> Response:
        """The scene list."""

        def made() -> dict[str, Any]:
            from heatwright.workbench.scenes import scene_list

            return scene_list(self.study).as_json()

        return await _json(made)

    async def keep_scenes(self, request: Request) -> Response:
        """Keep a list of scenes, or go back to the fixed one where it is null."""
        said = await _body(request)

        def kept() -> dict[str, Any]:
            from heatwright.workbench import scenes

            if said.get("scenes", ()) is None:
                scenes.forget(self.study)
            else:
                scenes.store(self.study, said.get("scenes"), tuple(TITLES))
            return scenes.scene_list(self.study).as_json()

        return await _json(kept)

    async def judge(self, request: Request) -> Response:
        """Put the draws of a verdict at the end of the queue; what stands against it is said at once."""
        said = (await _body(request)).get("runs")
        if not isinstance(said, list) or not all(isinstance(one, str) for one in said):
            raise InputError([Problem("runs", "what was sent is no list of runs", "ids of two to four runs")], "bench")
        runs = [self.study.run(key) for key in said if key]
        await run_in_threadpool(verdicts.ask, self.study, runs)
        name = "Verdicts: " + ", ".join(one.name for one in runs)
        return _queued(self.queue.add(name, kind=VERDICT, runs=tuple(one.id for one in runs)))

    async def queue_json(self, _: Request) -> Response:
        """The run queue."""
        return JSONResponse(self._state())

    async def offer(self, _: Request) -> Response:
        """What a report may be made of."""
        return await _json(lambda: handed.offer().as_json())

    async def report(self, request: Request) -> Response:
        """The report of runs with the sections chosen, as a file to keep; with `view`, to look at."""
        runs, text = await self._report(request)
        return _file(text, "text/html", "" if "view" in request.query_params else handed.file_name(runs, "html"))

    async def report_pdf(self, request: Request) -> Response:
        """The same printed."""
        runs, text = await self._report(request)
        return _file(await run_in_threadpool(handed.as_pdf, text), "application/pdf", handed.file_name(runs, "pdf"))

    async def _report(self, request: Request) -> tuple[tuple[Kept, ...], str]:
        runs = (self._run(request),) if "run" in request.path_params else self._asked(request).runs
        keys = handed.keys_of(request.query_params.get("sections"))
        return runs, await run_in_threadpool(handed.as_html, self.study, runs, keys)

    async def check(self, request: Request) -> Response:
        """What is wrong with a plant and a trip once changes are made."""
        said, changes, trip_changes = await _order(request)
        source = self.study.plant_source(said.get("plant"))
        way = self.study.trip_source(said["trip"]) if said.get("trip") else ""
        return await _json(lambda: {"problems": mistakes(source, changes, way, trip_changes)})

    async def ask(self, request: Request) -> Response:
        """Put a run at the end of the queue; what is wrong with it is said at once."""
        said, changes, trip_changes = await _order(request)
        plant, trip, strategy = said.get("plant"), said.get("trip"), said.get("strategy", "table")
        source, way = self.study.plant_source(plant), self.study.trip_source(trip)
        problems = await run_in_threadpool(mistakes, source, changes, way, trip_changes)
        known = [key for key, _ in STRATEGIES]
        if strategy not in known:
            problems = [{"where": "strategy", "found": "unknown", "expected": ", ".join(known)}]
        if problems:
            return JSONResponse({"problems": problems}, 400)
        told = _name(str(plant), {**changes, **trip_changes}, str(strategy))
        base = said.get("base") if any(one.id == said.get("base") for one in self.study.kept) else ""
        job = self.queue.add(
            str(said.get("name") or "").strip()[:80] or told, plant=str(plant), trip=str(trip), changes=changes,
            trip_changes=trip_changes, strategy=strategy, base=base,
        )  # fmt: skip
        return _queued(job)

    async def cancel(self, request: Request) -> Response:
        """Stop a job."""
        done = self.queue.cancel(request.path_params["job"])
        return JSONResponse({"cancelled": done}, 200 if done else 404)

    async def layout(self, request: Request) -> Response:
        """The layout of a run's sheet, and how far its refinement is."""
        return await _json(lambda: self.refiner.facts(self._run(request)))

    async def refine(self, request: Request) -> Response:
        """Look longer for a better layout of a run's sheet."""
        if not await run_in_threadpool(self.refiner.start, self._run(request)):
            return JSONResponse({"problems": [one.as_json() for one in refuse_busy().problems]}, 409)
        return JSONResponse({"started": True}, 202)

    async def stop_refining(self, request: Request) -> Response:
        """Stop that."""
        done = self.refiner.stop(self._run(request))
        return JSONResponse({"stopped": done}, 200 if done else 404)

    async def events(self, request: Request) -> Response:
        """Tell whenever the queue, the runs or a plant file of the folder change."""

        async def stream() -> AsyncIterator[str]:
            seen: Any = None
            while not await request.is_disconnected():
                now = (self.queue.version, self.study.version, self.study.files_state())
                if now != seen:
                    seen = now
                    yield f"data: {json.dumps(self._state())}\n\n"
                await asyncio.sleep(LOOK_S)

        return StreamingResponse(stream(), media_type="text/event-stream")

    def _state(self) -> dict[str, Any]:
        return {
            "jobs": [one.as_json() for one in self.queue.jobs],
            "runs": [one.id for one in self.study.kept],
            "files": self.study.files_state(),
        }

    def _run(self, request: Request) -> Kept:
        return self.study.run(request.path_params.get("run", ""))

    def _asked(self, request: Request) -> Asked:
        said = request.query_params
        keys = [key for key in said.get("runs", "").split(",") if key]
        runs = tuple(self.study.run(key) for key in keys) or (self.study.run(""),)
        span = (_seconds(said["from"]), _seconds(said["to"])) if "from" in said and "to" in said else None
        return Asked(self.study, runs, _seconds(said.get("at", "0")), span, said.get("level", "plumbing"))


def _seconds(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    return min(max(value, 0.0), 1e7) if value == value else 0.0


def _name(plant: str, changes: dict[str, str], strategy: str) -> str:
    """A name that tells what was changed."""
    told = [f"{key.replace('.', ' ').replace('_', ' ')} {value}" for key, value in changes.items()]
    first = plant[:1].upper() + plant[1:].replace("_", " ") + driven_by(strategy)
    return ", ".join([first, *told[:2]]) + (" ..." if len(told) > 2 else "")


def _queued(job: Any) -> Response:
    if job is None:
        return JSONResponse({"problems": [{"where": "queue", "found": "too many runs wait already"}]}, 429)
    return JSONResponse(job.as_json(), 202)


async def _body(request: Request) -> dict[str, Any]:
    """The body of a request, a JSON object."""
    try:
        said = json.loads(await request.body())
    except ValueError:
        said = None
    if not isinstance(said, dict):
        raise InputError([Problem("request", "what was sent cannot be read", "a JSON object")], "bench")
    return said


async def _order(request: Request) -> tuple[dict[str, Any], dict[str, str], dict[str, str]]:
    """The body of a request, and the changes in it to the plant and to the trip."""
    said = await _body(request)
    changes, trip_changes = (read_changes(said.get(key, {})) for key in ("changes", "trip_changes"))
    if changes is None or trip_changes is None:
        raise InputError([Problem("request", "what was sent cannot be read", "changes as names and texts")], "bench")
    return said, changes, trip_changes


async def _json(work: Callable[[], Any]) -> Response:
    return JSONResponse(plain(await run_in_threadpool(work)))


async def _raw(work: Callable[[], bytes]) -> Response:
    return Response(await run_in_threadpool(work), media_type="application/octet-stream")


def _file(content: str | bytes, kind: str, name: str) -> Response:
    """A file to keep under a name; without one, to look at."""
    headers = {"content-disposition": f'attachment; filename="{name}"'} if name else {}
    return Response(content, media_type=kind, headers=headers)
