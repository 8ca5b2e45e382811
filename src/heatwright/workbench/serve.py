"""Start the server: a study to show, a free port, one line with the address."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import secrets
import socket
import threading
from collections.abc import Callable
from importlib import resources
from pathlib import Path

from heatwright import __version__
from heatwright.cache import cache_home
from heatwright.workbench.study import Study

HOST = "127.0.0.1"
PORT = 8737
TRIES = 50


def demo_folder() -> Path:
    """Where the demo study of this version and its shipped plants and trips lies in the user's cache."""
    files = sorted(Path(str(resources.files("heatwright") / "data")).glob("*/*.toml"))
    shipped = hashlib.sha256(b"".join(one.read_bytes() for one in files)).hexdigest()[:12]
    return cache_home() / "demo" / f"{__version__}-{shipped}"


def free_port(wanted: int) -> tuple[socket.socket, int]:
    """A socket bound to the wanted port or the next free one; OSError where none of fifty is."""
    for port in range(wanted, min(wanted + TRIES, 65536)):
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((HOST, port))
        except OSError as failure:
            found.close()
            if failure.errno not in (errno.EADDRINUSE, errno.EACCES):
                raise
            continue
        return found, port
    raise OSError(errno.EADDRINUSE, f"no free port from {wanted} on")


def serve(folder: Path, title: str, bound: socket.socket, ready: Callable[[], None]) -> None:
    """Serve a study until Ctrl-C; `ready` is called once the server answers.

    What draws, and with it the compiled code, is loaded in a thread after that: nothing up to there may import it.
    """
    import uvicorn

    from heatwright.workbench.app import make_app

    app, queue = make_app(Study(folder, title), secrets.token_urlsafe(24))
    config = uvicorn.Config(app, log_level="error", access_log=False, timeout_graceful_shutdown=1, lifespan="off")

    class Server(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            ready()
            threading.Thread(target=_load_ahead, daemon=True).start()

    try:
        with contextlib.suppress(KeyboardInterrupt):
            Server(config).run(sockets=[bound])
    finally:
        queue.close()


def _load_ahead() -> None:
    """Load what the frame and the layers need, in the order in which the page asks for it."""
    import heatwright.workbench.frame
    import heatwright.workbench.own_layers  # noqa: F401
