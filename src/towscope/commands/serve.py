"""`towscope serve`: the app, on this machine and on the crew's phones."""

from __future__ import annotations

from typing import Annotated

import typer

from towscope.commands.common import Json, quantity


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(serve)


def serve(
    feed: Annotated[
        list[str] | None,
        typer.Option(
            "--feed",
            metavar="TEXT",
            help="Where the position comes from: tcp:HOST:PORT, udp:PORT, serial:DEVICE@4800, "
            "gpsd:HOST, signalk:HOST, file:PATH@10, phone or demo; may repeat.",
        ),
    ] = None,
    transducer: Annotated[
        str,
        typer.Option(
            "--transducer",
            metavar="DEPTH",
            help='Transducer below the surface, "1 ft": added to depths that count from it.',
        ),
    ] = "",
    lan: Annotated[
        bool, typer.Option("--lan", help="Let phones on the boat's network in, after a code.")
    ] = False,
    port: Annotated[
        int,
        typer.Option("--port", help="Where to listen; phones at the next one up. 0: any free."),
    ] = 8642,
    lake: Annotated[str, typer.Option("--lake", metavar="NAME", help="The lake to start with.")] = (
        ""
    ),
    journal: Annotated[
        str,
        typer.Option("--journal", metavar="PLACE", help="Another journal: a file or a URL."),
    ] = "",
    demo: Annotated[
        bool, typer.Option("--demo", help="Play the demo day; what you enter is thrown away.")
    ] = False,
    open_page: Annotated[
        bool | None,
        typer.Option(
            "--open/--no-open", help="Open the page in the browser; by default where there is one."
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    """Serve the app: the run live, the log, the lake, rigs, what works.

    It listens on this machine alone unless --lan. Nothing on the boat is steered or controlled
    from it; keep a lookout at all times.
    """
    from towscope.errors import InputError
    from towscope.web.serve_config import ServeConfig
    from towscope.web.supervisor import keep

    if demo and (journal or lake):
        raise InputError("--demo brings its own journal and lake; expected no --journal or --lake")
    if lan and port == 65_535:
        raise InputError("--port 65535: phones need the next one up; expected at most 65534")
    hung = quantity(transducer, "length", "--transducer") if transducer else 0.0
    if not 0.0 <= hung <= 20.0:
        raise InputError(f'--transducer "{transducer}": expected 0 to 20 m below the surface')
    status = keep(
        ServeConfig(
            port=port,
            lan=lan,
            lan_port=port + 1 if port else 0,
            feeds=tuple(feed or ()),
            transducer_m=hung,
            lake=lake,
            journal=journal,
            demo=demo,
            open_page=_has_browser() if open_page is None else open_page,
            as_json=as_json,
        )
    )
    if status:
        raise typer.Exit(status)


def _has_browser() -> bool:
    """Tell whether a browser can be shown: somebody sits at a terminal, before a display."""
    import os
    import sys

    if not sys.stdout.isatty():
        return False
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
