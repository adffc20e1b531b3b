"""The app served as a process of its own, as on the boat: started, stopped, killed by the tests."""

from __future__ import annotations

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
from pathlib import Path
from typing import TYPE_CHECKING, Self

from towscope.journal.events import AnyEvent
from towscope.journal.store import open_store

if TYPE_CHECKING:
    from towscope.boat.feeds.model import Reading
    from towscope.web.demo import Playing

PATIENCE_S = 180.0  # kernels may have to be compiled, and the lake built, anew


class Server:
    """One app on 127.0.0.1, with a home of its own.

    Attributes
    ----------
    home : Path
        Its `TOWSCOPE_HOME`.
    pages : Path or None
        Other built pages than the app's own.
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
    ) -> None:
        self.home = home
        self.pages = pages
        self.demo = demo
        self.port = _free_port() if port is None else port
        self.url = f"http://127.0.0.1:{self.port}"
        self.log = home / "server.log"
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def start(self) -> None:
        """Start it, and wait until it answers."""
        assert self._process is None, "it runs already"
        environment = {**os.environ, "TOWSCOPE_HOME": str(self.home), "OMP_NUM_THREADS": "1"}
        if self.pages is not None:
            environment["TOWSCOPE_PAGES"] = str(self.pages)
        with self.log.open("ab") as log:
            self._process = subprocess.Popen(
                [sys.executable, str(Path(__file__)), str(self.port), "demo" if self.demo else ""],
                env=environment,
                stdout=log,
                stderr=subprocess.STDOUT,
            )
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            if self._process.poll() is not None:
                break
            try:
                with urllib.request.urlopen(f"{self.url}/api/hello", timeout=5):
                    return
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        told = self.log.read_text(errors="replace")[-3000:]
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
        process.send_signal(how)
        try:
            process.wait(8)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(8)

    def entries(self) -> list[AnyEvent]:
        """Give every entry in its journal, as made, in order of arrival."""
        with open_store(self.home / "journal.sqlite") as store:
            return [event for _, event in store.events()]


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def main(port: int, demo: bool) -> None:
    """Serve, in the process that `Server` starts, behind the same gate as `towscope serve`."""
    import uvicorn

    from towscope.boat.feeds.aboard import Feeds
    from towscope.files import home
    from towscope.web import app as web_app
    from towscope.web.aboard import Aboard
    from towscope.web.gate import Settings, guard
    from towscope.web.live import attach

    if pages := os.environ.get("TOWSCOPE_PAGES"):
        web_app.PAGES = Path(pages)  # type: ignore[misc]
    aboard = Aboard(demo=demo)
    playing = _laid(home()) if demo else None
    if playing is not None:
        aboard.lake = playing.lake
    live = attach(aboard, None if demo else Feeds([]))  # phones may tell where the boat is
    if playing is not None:
        threading.Thread(target=_play, args=(playing, live.take), daemon=True).start()
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

    from towscope.web.demo import lay_out

    kept = home / "laid.pickle"
    if not kept.is_file():
        kept.write_bytes(pickle.dumps(lay_out(home)))
    playing: Playing = pickle.loads(kept.read_bytes())
    return playing


def _play(playing: Playing, take: Callable[[Reading], None]) -> None:
    """Hand the boat's readings over as their time comes, the last half minute at once."""
    from towscope.boat.feeds.model import Reading

    track, latest = playing.track, time.time() - 30.0
    while latest < track.t_s[-1]:
        due = (track.t_s > latest) & (track.t_s <= time.time())
        for n in due.nonzero()[0]:
            depth = float(track.depth_m[n])
            take(
                Reading(
                    time=float(track.t_s[n]),
                    lat=float(track.lat[n]),
                    lon=float(track.lon[n]),
                    depth=depth if depth == depth else None,
                )
            )
        latest = time.time()
        time.sleep(0.5)


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2:] == ["demo"])
