"""The app served as a process of its own, as on the boat: started, stopped, killed by the tests.

Importing the app takes seconds. One process, the nursery, does it once and then splits off a server
whenever a test wants one.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from functools import cache
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Any, NoReturn, Self

from towscope import clock
from towscope.journal.events import AnyEvent
from towscope.journal.opening import open_store

if TYPE_CHECKING:
    from towscope.boat.feeds.model import FeedReading, Status
    from towscope.demo.home import Playing

PATIENCE_S = 180.0  # kernels may have to be compiled, and the lake built, anew


class Server:
    """One app on 127.0.0.1, with a home of its own.

    Attributes
    ----------
    home : Path
        Its `TOWSCOPE_HOME`.
    pages : Path or None
        Other built pages than the app's own.
    now, zone : str
        The moment that its clock begins at, ISO 8601 with offset, and the boat's time zone; ""
        for the machine's own.
    port : int
        Stays the same when it is started again.
    url : str
        Where it answers, without a slash at the end.
    """

    def __init__(
        self,
        home: Path,
        *,
        demo: bool = True,
        port: int | None = None,
        pages: Path | None = None,
        now: str = "",
        zone: str = "",
    ) -> None:
        self.home = home
        self.pages = pages
        self.now, self.zone = now, zone
        self.demo = demo
        self.port = _free_port() if port is None else port
        self.url = f"http://127.0.0.1:{self.port}"
        self.log = home / "server.log"
        self._process: int | None = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def start(self) -> None:
        """Start it, and wait until it answers."""
        assert self._process is None, "it runs already"
        self._process = _nursery().begin(
            {
                "home": str(self.home),
                "port": self.port,
                "demo": self.demo,
                "pages": str(self.pages or os.environ.get("TOWSCOPE_PAGES", "")),
                "log": str(self.log),
                "now": self.now,
                "zone": self.zone,
            }
        )
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            if not _lives(self._process):
                break
            try:
                with urllib.request.urlopen(f"{self.url}/api/hello", timeout=5):
                    return
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        told = self.log.read_text(errors="replace")[-3000:] if self.log.is_file() else ""
        self.kill()
        raise AssertionError(f"the app did not answer at {self.url}:\n{told}")

    def stop(self) -> None:
        """End it as ctrl-C does."""
        self._end(signal.SIGINT)

    def kill(self) -> None:
        """End it as a dead battery does."""
        self._end(signal.SIGKILL)

    def _end(self, how: signal.Signals) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        for signalled in (how, signal.SIGKILL):
            with contextlib.suppress(ProcessLookupError):
                os.kill(process, signalled)
            until = time.monotonic() + 8.0
            while time.monotonic() < until:
                if not _lives(process):
                    return
                time.sleep(0.02)
        raise AssertionError(f"the app at {self.url} does not end")

    def entries(self) -> list[AnyEvent]:
        """Give every entry in its journal, as made, in order of arrival."""
        with open_store(self.home / "journal.sqlite") as store:
            return [event for _, event in store.events()]


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def _lives(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True


class Nursery:
    """The process that servers are split off from; it ends with the tests, and they with it."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, str(Path(__file__))],
            env={**os.environ, "OMP_NUM_THREADS": "1"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )

    def begin(self, wanted: dict[str, Any]) -> int:
        """Split off a server, and give the number of its process."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(wanted).encode() + b"\n")
        self._process.stdin.flush()
        return int(self._process.stdout.readline())


@cache
def _nursery() -> Nursery:
    return Nursery()


def nurse() -> None:
    """Import what a server needs, then split one off for each line that comes."""
    import towscope as ts
    from towscope.demo import home as made_up
    from towscope.live import engine
    from towscope.tackle.shelf import stock
    from towscope.towing import cores, jit
    from towscope.web import app, gate, routes

    for module in iter_modules(routes.__path__):
        import_module(f"{routes.__name__}.{module.name}")
    import_module("uvicorn")
    assert app and made_up and gate and engine
    # the compiled code that a server comes to need is loaded too, once for all of them
    going = {"time_s": [0.0, 2.0, 4.0], "x_m": [0.0, 1.8, 3.6], "y_m": [0.0, 0.0, 0.0]}
    all_cores, cores.cores = cores.cores, lambda: 1  # no threads yet
    ts.rig("demo").follow(going, "100 ft")
    cores.cores = all_cores
    assert jit.loaded()
    stock().tow("demo")
    own = Path("/proc/self/task")
    assert not own.is_dir() or len(list(own.iterdir())) == 1, "threads do not outlast a split"
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # ended servers leave nothing behind
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # ctrl-C is for the tests: they end it all
    begun: list[int] = []
    for line in iter(sys.stdin.buffer.readline, b""):
        wanted = json.loads(line)
        child = os.fork()
        if child == 0:
            _serve(wanted)
        begun.append(child)
        sys.stdout.write(f"{child}\n")
        sys.stdout.flush()
    for child in begun:
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)


def _serve(wanted: dict[str, Any]) -> NoReturn:
    status = 1
    try:
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.default_int_handler)
        nothing = os.open(os.devnull, os.O_RDONLY)
        log = os.open(wanted["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        for here, there in ((nothing, 0), (log, 1), (log, 2)):
            os.dup2(here, there)
        os.environ["TOWSCOPE_HOME"] = wanted["home"]
        if wanted["zone"]:
            os.environ["TOWSCOPE_ZONE"] = os.environ["TZ"] = wanted["zone"]
            time.tzset()
        os.environ["TOWSCOPE_NOW"] = wanted["now"]
        clock.begin()
        main(wanted["port"], wanted["demo"], wanted["pages"])
        status = 0
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


def main(port: int, demo: bool, pages: str) -> None:
    """Serve, behind the same gate as `towscope serve`."""
    import uvicorn

    from towscope.boat.feeds.aboard import Feeds
    from towscope.files import home
    from towscope.web import app as web_app
    from towscope.web.context import AppContext
    from towscope.web.gate import Settings, guard

    if pages:
        web_app.PAGES = Path(pages)  # type: ignore[misc]
    aboard = AppContext(demo=demo)
    playing = _laid(home()) if demo else None
    if playing is not None:
        aboard.lake = playing.lake
    feeds = Feeds([_Played(playing)] if playing is not None else [])  # phones may tell it, too
    aboard.follow(feeds)
    config = uvicorn.Config(
        guard(web_app.make_app(aboard), Settings(lan=False, port=port, home=home())),
        host="127.0.0.1",
        port=port,
        log_level="warning",
        timeout_graceful_shutdown=1,
    )
    uvicorn.Server(config).run()


def _laid(home: Path) -> Playing:
    """Lay the made-up days out, or find them as they were laid when this was first started."""
    import pickle

    from towscope.demo.home import lay_out

    kept = home / "laid.pickle"
    if not kept.is_file():
        kept.write_bytes(pickle.dumps(lay_out(home)))
    playing: Playing = pickle.loads(kept.read_bytes())
    return playing


class _Played:
    """The made-up boat as a feed: it says what the day's track holds, as its time comes."""

    name = "Demo boat"

    def __init__(self, playing: Playing) -> None:
        self.playing = playing
        self.since = time.monotonic()

    def start(self, take: Callable[[FeedReading], None]) -> None:
        threading.Thread(target=_play, args=(self.playing, take), daemon=True).start()

    def stop(self) -> None:
        pass

    def status(self) -> Status:
        from towscope.boat.feeds.model import Status

        return Status(connected=True, since=self.since)


def _play(playing: Playing, take: Callable[[FeedReading], None]) -> None:
    """Hand the boat's readings over as their time comes, the last half minute at once."""
    from towscope.boat.feeds.model import FeedReading

    track, latest = playing.track, clock.time_s() - 30.0
    while latest < track.t_s[-1]:
        due = (track.t_s > latest) & (track.t_s <= clock.time_s())
        for n in due.nonzero()[0]:
            depth = float(track.depth_m[n])
            take(
                FeedReading(
                    time=float(track.t_s[n]),
                    lat=float(track.lat[n]),
                    lon=float(track.lon[n]),
                    depth=depth if depth == depth else None,
                    heard=time.monotonic() - (clock.time_s() - float(track.t_s[n])),
                )
            )
        latest = clock.time_s()
        time.sleep(0.5)


if __name__ == "__main__":
    nurse()
