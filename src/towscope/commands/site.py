"""`towscope site`: the app as files that any static host can serve."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towscope.commands.common import Json, console, emit


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(site)


def site(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A new or empty folder, or one to renew.")
    ],
    as_json: Json = False,
) -> None:
    """Write the app as files for a static https host: a phone then answers rigs by itself.

    Only the stock's tackle goes along, nothing of the user's.
    """
    from dataclasses import asdict

    from towscope.web.site import write

    written = write(folder)
    if as_json:
        emit(asdict(written))
        return
    console().print(
        f"{written.folder}: {written.files} files, {written.size_bytes / 1e6:.1f} MB. "
        "Put them on any https host; open its address once on the phone."
    )
