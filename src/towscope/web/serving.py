"""The app as it runs: started by the keeper, it serves until it is told to end.

Ran as ``python -m towscope.web.serving PLAN`` by `towscope.web.supervisor`.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import logging
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from towscope.clock import time_s
from towscope.errors import InputError, NoAnswer, one_line
from towscope.files import home
from towscope.web.serve_config import ServeConfig

if TYPE_CHECKING:
    from starlette.types import ASGIApp
    from uvicorn import Config, Server

    from towscope.web.context import AppContext
    from towscope.web.gate.auth import Gate

LOOK_S: Final = 15.0  # how often the machine's addresses are looked at [s]
BEAT_S: Final = 2.0  # how often the keeper is told that the app still moves [s]
LOG: Final = "serve.log"
KEEP_ALIVE_S: Final = 20
NEVER: Final = (
    "Nothing on the boat is steered or controlled from here. Keep a lookout at all times."
)


def main(argv: list[str]) -> int:
    """Serve what the plan says and give the exit status."""
    plan = ServeConfig.read(argv[0])
    if not (plan.as_json or plan.starts):
        wait = " The demo lake is built the first time: a minute at most." if plan.demo else ""
        print(f"towscope is starting.{wait}", flush=True)
    try:
        return _serve(plan)
    except (InputError, NoAnswer) as error:
        _complain(str(error))
        return 2
    except OSError as error:
        name = f"{error.filename}: " if error.filename else ""
        _complain(f"{name}{error.strerror or error}")
        return 2


def _serve(plan: ServeConfig) -> int:
    from towscope.web.app import PAGES, make_app
    from towscope.web.gate import Settings, guard

    where = home()
    where.mkdir(parents=True, exist_ok=True)
    _log_to(where / LOG)
    aboard = _board(plan)
    app = make_app(aboard)
    guarded = guard(app, Settings(plan.lan, plan.lan_port, where))
    if not PAGES.is_dir():
        _complain("the pages are not built, only the API answers; build them with `make pages`")
    return asyncio.run(_run(plan, guarded, app.state.gate))


def _board(plan: ServeConfig) -> AppContext:
    """Open the journal, and begin to follow the boat."""
    from towscope.bed import store as lakes
    from towscope.boat.feeds.aboard import Feeds
    from towscope.boat.feeds.address import feed_of
    from towscope.demo.feed import demo_feed
    from towscope.web.context import AppContext
    from towscope.web.recorder import Recorder

    aboard = AppContext(journal=plan.journal or None, lake=plan.lake, demo=plan.demo)
    feeds: list[Any] = []
    if plan.demo:
        feed, aboard.lake = _made_up_day()
        feeds.append(feed)
    elif plan.lake and plan.lake not in lakes.names():
        kept = ", ".join(lakes.names()) or "none saved yet; see `towscope lake --help`"
        raise InputError(f'no lake "{one_line(plan.lake, 60)}"; expected one of: {kept}')
    for text in plan.feeds:
        try:
            feeds.append(feed_of(text, transducer=plan.transducer_m, made_up=demo_feed))
        except InputError as error:
            raise InputError(f"--feed {one_line(text, 80)}: {error}") from None
    _open_journal(aboard)  # an unreadable journal is said now, not at the first fish
    listened = Feeds(feeds)
    aboard.follow(listened)
    recorder = Recorder(listened.now, lambda: aboard.store, clock=aboard.clock)
    recorder.start()
    listened.at_stop.append(recorder.stop)  # before the journal is closed
    return aboard


def _open_journal(aboard: AppContext) -> None:
    """Open the journal; one whose pages are not whole is left for a new one with what it holds."""
    from towscope.journal.rescue import is_sound

    store = aboard.store
    if store.path is not None and not is_sound(store.path):
        store.begin_anew()
    for line in store.remarks:
        _complain(line)


def _made_up_day() -> tuple[Any, str]:
    """Lay the made-up day out, once, and give the boat that sails it and its lake."""
    import numpy as np

    from towscope.demo.boat import SimulatedFeed
    from towscope.demo.home import lay_out
    from towscope.journal.track import LoggedTrack

    kept = home() / "made-up-day.npz"
    names = ("t_s", "lat", "lon", "speed_m_s", "depth_m", "surface_temp_c")
    if kept.exists():  # the app died and is back: the day goes on where it would be by now
        with np.load(kept) as told:
            track, lake = LoggedTrack(*(told[name] for name in names)), str(told["lake"])
        return SimulatedFeed(track, begin=min(time_s(), float(track.t_s[-1]))), lake
    for half in home().iterdir():  # it died while the day was being laid out
        if half.is_dir():
            import shutil

            shutil.rmtree(half, ignore_errors=True)
        elif half.name != LOG:
            half.unlink()
    playing = lay_out(home())
    beside = kept.with_name("made-up-day.part.npz")
    columns: dict[str, Any] = {name: getattr(playing.track, name) for name in names}
    np.savez(beside, lake=playing.lake, **columns)
    beside.replace(kept)
    return SimulatedFeed(playing.track, begin=playing.now_s), playing.lake


# -- serving ---------------------------------------------------------------------------------------


async def _run(plan: ServeConfig, app: ASGIApp, gate: Gate) -> int:
    """Serve until told to end."""
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()

    def end(*_: object) -> None:
        loop.call_soon_threadsafe(stop.set)

    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, end)
    if hasattr(signal, "SIGTTIN"):  # in the background there is no Enter; that is no reason to stop
        signal.signal(signal.SIGTTIN, signal.SIG_IGN)
    if plan.alive >= 0:
        threading.Thread(target=_outlive, args=(plan.alive, end), daemon=True).start()
    served = _servers(plan, app, gate)
    tasks = [asyncio.create_task(server.serve(sockets=[sock])) for server, sock in served]
    while not all(server.started for server, _ in served):
        if any(task.done() for task in tasks):  # it could not start: say why
            break
        await asyncio.sleep(0.01)
    else:
        if plan.ready >= 0:
            os.write(plan.ready, b"up")
        _announce(plan, gate)
    beside = [asyncio.create_task(_look(gate)), asyncio.create_task(_beat(plan.ready))]
    stopping = asyncio.create_task(stop.wait())
    await asyncio.wait([stopping, *tasks], return_when=asyncio.FIRST_COMPLETED)
    for task in beside:
        task.cancel()
    # From here on a line that a client does not hang up is no fault worth a note.
    logging.getLogger("uvicorn.error").setLevel(logging.CRITICAL)
    gate.streams.end()
    for server, _ in served:
        server.should_exit = True
    await asyncio.gather(*tasks)
    return 0


def _servers(plan: ServeConfig, app: ASGIApp, gate: Gate) -> list[tuple[Server, socket.socket]]:
    """Give the servers: one for this machine, in plain http, and one for phones, in https."""
    import uvicorn

    from towscope.web.gate.doorstep import Doorstep
    from towscope.web.gate.timeouts import Wire

    class Quiet(uvicorn.Server):
        """A server that leaves the signals to us: there may be two of them."""

        @contextlib.contextmanager
        def capture_signals(self) -> Any:
            yield

    def config(lifespan: Any, **more: Any) -> Config:
        return uvicorn.Config(
            app,
            interface="asgi3",
            http=Wire,
            ws="none",
            loop="asyncio",
            lifespan=lifespan,
            log_config=None,
            access_log=False,
            server_header=False,
            proxy_headers=False,  # nobody in between is believed
            timeout_keep_alive=KEEP_ALIVE_S,
            timeout_graceful_shutdown=1,
            limit_concurrency=400,
            **more,
        )

    sockets = [_adopted(number) for number in plan.listening] or _own_sockets(plan)
    served: list[tuple[Server, socket.socket]] = [(Quiet(config("on")), sockets[0])]
    if plan.lan and gate.certificate is not None:
        context = gate.certificate.context()
        step = Doorstep(sockets[1])
        served.append((Quiet(config("off", ssl_context_factory=lambda *_: context)), step))
    return served


def _adopted(number: int) -> socket.socket:
    made = socket.socket(fileno=number)
    made.setblocking(False)
    return made


def _own_sockets(plan: ServeConfig) -> list[socket.socket]:
    places = [("127.0.0.1", plan.port), *([("0.0.0.0", plan.lan_port)] if plan.lan else [])]
    return [socket.create_server(place) for place in places]


async def _beat(pipe: int) -> None:
    """Tell the keeper again and again that the app still moves."""
    if pipe < 0:
        return
    os.set_blocking(pipe, False)  # a keeper that does not read must not hold the app
    while True:
        with contextlib.suppress(OSError):
            os.write(pipe, b".")
        await asyncio.sleep(BEAT_S)


async def _look(gate: Gate) -> None:
    """Keep the certificate to the addresses that the machine has: networks come and go afloat."""
    while gate.certificate is not None:
        await asyncio.sleep(LOOK_S)
        try:
            known = await asyncio.to_thread(gate.names.current)
            if await asyncio.to_thread(gate.certificate.cover, known):
                _say("the network has changed; phones now open " + " or ".join(gate.addresses()))
        except (InputError, OSError) as error:
            logging.getLogger("towscope").warning("certificate: %s", one_line(error))


def _outlive(pipe: int, end: Callable[[], None]) -> None:
    """End when the keeper is gone: nobody else would."""
    with contextlib.suppress(OSError):
        while os.read(pipe, 1):
            pass
    end()


# -- what is said ----------------------------------------------------------------------------------


def _announce(plan: ServeConfig, gate: Gate) -> None:
    """Say where the app is to be opened, once; and how a phone comes aboard."""
    here = f"http://127.0.0.1:{plan.port}/"
    code = gate.pairing.renew() if gate.pairing is not None else None
    gate.tell = lambda line: _news(line, gate)
    if plan.as_json:
        told = {
            "address": here,
            "phone_addresses": gate.addresses(),
            "pairing_code": code,
            "process": os.getpid(),
            "starts": plan.starts,
            "demo": plan.demo,
        }
        print(json.dumps(told), flush=True)
    elif plan.starts:
        _say("the app is back")
        if code is not None:
            _say_code(gate)
    else:
        print(f"towscope is at  {here}  on this machine. Ctrl-C ends it.", flush=True)
        if plan.demo:
            print("This is the Demo: what you enter is thrown away at the end.")
        if code is not None:
            _say_code(gate)
        else:
            print("No phone can reach it; for that, start it with --lan.")
        print(NEVER, flush=True)
    if code is not None and not plan.as_json and sys.stdin is not None and sys.stdin.isatty():
        threading.Thread(target=_on_enter, args=(gate,), daemon=True).start()
    if plan.open_page and not plan.starts:
        threading.Thread(target=_open, args=(here,), daemon=True).start()


def _say_code(gate: Gate) -> None:
    """Show the code, and the picture that holds address and code."""
    from towscope.web.gate.pairing import LASTS_S, spaced

    if gate.pairing is None:
        return
    code, _ = gate.pairing.current()
    addresses = gate.addresses()
    if not code:
        return
    if not addresses or all(".local" in each for each in addresses):
        print("This machine is on no network yet; join the boat's, then press Enter.")
        return
    import segno

    print("\nOn a phone joined to the same network, point the camera at this:\n")
    segno.make(f"{addresses[0]}pair?code={code}", error="m", micro=False).terminal(compact=True)
    print(f"\nor open  {'  or  '.join(addresses)}\nand type  {spaced(code)}")
    print(
        f"The code lets one phone in and is good for {LASTS_S / 60:.0f} minutes; Enter makes a "
        "new one.\nThe phone will warn once that it does not know the boat; /pair shows why, and "
        "how to stop that.",
        flush=True,
    )


def _news(line: str, gate: Gate) -> None:
    _say(line)
    if gate.pairing is not None and not gate.pairing.current()[0]:
        print("Press Enter to let another phone in.", flush=True)


def _on_enter(gate: Gate) -> None:
    with contextlib.suppress(OSError, ValueError):
        for _ in sys.stdin:
            if gate.pairing is not None:
                gate.pairing.renew()
                _say_code(gate)


def _open(address: str) -> None:
    import webbrowser

    with contextlib.suppress(webbrowser.Error, OSError):
        webbrowser.open(address)


def _say(line: str) -> None:
    with contextlib.suppress(OSError, ValueError):
        print(f"towscope: {one_line(line, 300)}", flush=True)


def _complain(line: str) -> None:
    with contextlib.suppress(OSError, ValueError):
        print(f"towscope: {one_line(line, 500)}", file=sys.stderr, flush=True)


def _log_to(file: Path) -> None:
    """Keep what the server says of itself in a file; the terminal is for the crew."""
    root = logging.getLogger()
    handler: logging.Handler
    try:
        handler = RotatingFileHandler(file, maxBytes=1_000_000, backupCount=1, encoding="utf-8")
    except OSError:  # a full disk or a folder that can't be written ends no trip
        handler = logging.NullHandler()
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s %(message)s"))
    root.handlers[:] = [handler]
    root.setLevel(logging.WARNING)
    logging.captureWarnings(True)


if __name__ == "__main__":
    status = main(sys.argv[1:])
    # Threads that still reckon would hold the process; what is acknowledged is on the disk.
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(status)
