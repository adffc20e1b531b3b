"""Supervising process: starts the app, starts it again when it dies, ends it when told to.

The keeper holds the listening sockets, so that what a phone sends while the app starts again waits
instead of being refused; it does nothing else, so that nothing else can bring it down.
"""

from __future__ import annotations

import contextlib
import os
import select
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import FrameType
from typing import Final

from towscope.errors import InputError
from towscope.web.serve_config import ServeConfig

QUICK_S: Final = 1.0  # an app that was up for less than this, or never, died quickly [s]
# In a row; then something is wrong that a start will not mend. Who comes up at all gets more of a
# chance: the crew has no other app, and a start costs little.
MOST_NEVER: Final = 8
MOST_QUICK: Final = 30
FIRST_WAIT_S: Final = 0.1
LONGEST_WAIT_S: Final = 10.0
END_S: Final = 1.7  # the app has this long to end when told to [s]
STUCK_S: Final = 60.0  # an app without a beat for this long has stuck [s]
PARTS: Final = 4
COMMAND: Final = (sys.executable, "-m", "towscope.web.serving")
_POSIX: Final = os.name == "posix"


def keep(plan: ServeConfig) -> int:
    """Serve until told to end.

    Parameters
    ----------
    plan : ServeConfig
        What is to be served.

    Returns
    -------
    int
        Exit status: 0 when told to end, 2 for bad input, 70 where the app dies again and again.

    Raises
    ------
    InputError
        Where the port is taken or can't be had.
    """
    with contextlib.ExitStack() as held:
        sockets = [held.enter_context(_bound("127.0.0.1", plan.port, "--port"))]
        plan = replace(plan, port=sockets[0].getsockname()[1])
        if plan.lan:
            sockets.append(held.enter_context(_bound("0.0.0.0", plan.lan_port, "--port")))
            plan = replace(plan, lan_port=sockets[1].getsockname()[1])
        if not _POSIX:  # sockets can't be handed down by number there: the app binds them itself
            for each in sockets:
                each.close()
            sockets = []
        surroundings = dict(os.environ)
        if plan.demo:
            surroundings["TOWSCOPE_HOME"] = held.enter_context(_throw_away())
        return _Keeper(plan, sockets, surroundings).run()


class _Keeper:
    """One run of the keeper."""

    def __init__(
        self, plan: ServeConfig, sockets: list[socket.socket], surroundings: dict[str, str]
    ) -> None:
        self._plan = plan
        self._sockets = sockets
        self._surroundings = surroundings
        self._child: subprocess.Popen[bytes] | None = None
        self._end = threading.Event()

    def run(self) -> int:
        """Start it, and again, until told to end."""
        alive, mine = os.pipe() if _POSIX else (-1, -1)
        # What is ignored stays so: `nohup` means that a closed terminal is to end nothing.
        heeded = [each for each in _signals() if signal.getsignal(each) is not signal.SIG_IGN]
        before = {each: signal.signal(each, self._told_to_end) for each in heeded}
        try:
            return self._watch(alive)
        finally:
            for each, handler in before.items():
                signal.signal(each, handler)
            if _POSIX:
                os.close(alive)
                os.close(mine)

    def _watch(self, alive: int) -> int:
        quick = never = starts = 0  # deaths in a row: soon after it was up, before it was up
        while True:
            status, up_s = self._once(alive, starts)
            if self._end.is_set():
                return 0
            if status == 0 or (status == 2 and starts == 0):
                return status
            starts += 1
            never = never + 1 if up_s < 0.0 else 0
            quick = quick + 1 if up_s < QUICK_S else 0
            if never >= MOST_NEVER or quick >= MOST_QUICK:
                _say(
                    f"the app died {quick} times in a row as soon as it was started (the last "
                    f"time: {_how(status)}) and is not started again; what the journal "
                    "confirmed is safe; see serve.log in your towscope folder"
                )
                return 70
            _say(f"the app stopped by itself ({_how(status)}); it is started again")
            wait = FIRST_WAIT_S * 2.0 ** max(0, quick - 1)
            if self._end.wait(min(wait, LONGEST_WAIT_S)):
                return 0

    def _once(self, alive: int, starts: int) -> tuple[int, float]:
        """Start it once; give the status that it ends with, and how long it was up [s].

        Negative where it never was.
        """
        numbers = tuple(each.fileno() for each in self._sockets)
        heard, ready = os.pipe() if _POSIX else (-1, -1)
        plan = replace(self._plan, listening=numbers, alive=alive, ready=ready, starts=starts)
        pass_on = (*numbers, alive, ready) if _POSIX else ()
        begun = time.monotonic()
        # Ctrl-C reaches all that runs in a terminal; the app is to hear of it from here, once. A
        # signal that is ignored stays so in a child.
        handler = signal.signal(signal.SIGINT, signal.SIG_IGN)
        try:
            self._child = subprocess.Popen(
                [*COMMAND, plan.told()],
                env=self._surroundings,
                pass_fds=pass_on,
            )
        finally:
            signal.signal(signal.SIGINT, handler)
            if _POSIX:
                os.close(ready)
        if self._end.is_set():  # told while it was being started
            self._ask()
        if _POSIX:
            # Either the app says that it is up, or it dies and with it its end of the pipe.
            begun = time.monotonic() if os.read(heard, 2) else float("inf")
            if begun < float("inf"):
                self._listen(heard)
            os.close(heard)
        status = self._child.wait()
        return status, time.monotonic() - begun

    def _listen(self, heard: int) -> None:
        """Hear the app's beat until it ends; one that has stuck is ended.

        It is listened to in parts: after a sleep of the whole machine one part runs out at once.
        """
        silent = 0
        while silent < PARTS:
            there, _, _ = select.select([heard], [], [], STUCK_S / PARTS)
            if there and not os.read(heard, 4096):
                return
            silent = 0 if there else silent + 1
        if self._child is not None and self._child.poll() is None:
            _say(f"the app has not moved for {STUCK_S:.0f} s; it is ended")
            self._child.kill()

    def _told_to_end(self, _: int, __: FrameType | None) -> None:
        self._end.set()
        self._ask()

    def _ask(self) -> None:
        child = self._child
        if child is None or child.poll() is not None:
            return
        child.terminate()
        late = threading.Timer(END_S, child.kill)
        late.daemon = True
        late.start()


def _signals() -> list[signal.Signals]:
    names = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
    return [getattr(signal, name) for name in names if hasattr(signal, name)]


def _bound(host: str, port: int, option: str) -> socket.socket:
    """Listen at a port."""
    if not 0 <= port <= 65_535:
        raise InputError(f"{option} {port}: expected 1 to 65535")
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if _POSIX:  # else the port of one that ended is held for minutes
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((host, port))
        made.listen(128)
    except OSError as error:
        made.close()
        import errno

        if error.errno == errno.EADDRINUSE:
            why = "is taken, perhaps by another towscope; end that, or choose another"
        elif error.errno in (errno.EACCES, errno.EPERM):
            why = "is not for you to use; expected 1024 or above"
        else:
            why = f"can't be had: {error.strerror or error}"
        raise InputError(f"{option} {port}: port {port} {why}") from None
    return made


@contextmanager
def _throw_away() -> Iterator[str]:
    """Give a folder for the made-up day, and throw it away at the end."""
    folder = tempfile.mkdtemp(prefix="towscope-demo-")
    try:
        yield folder
    finally:
        shutil.rmtree(Path(folder), ignore_errors=True)


def _how(status: int) -> str:
    if status >= 0:
        return f"status {status}"
    try:
        return f"ended by {signal.Signals(-status).name}"
    except ValueError:
        return f"ended by signal {-status}"


def _say(line: str) -> None:
    with contextlib.suppress(OSError, ValueError):  # a terminal that is gone ends nothing
        print(f"towscope: {line}", file=sys.stderr, flush=True)
