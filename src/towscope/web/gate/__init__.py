"""The gate around the app: who is let in, from which pages, and how much may be asked."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from fastapi import FastAPI
from starlette.types import ASGIApp

from towscope.web.gate.addresses import Names
from towscope.web.gate.auth import Door, Gate
from towscope.web.gate.certificate import Certificate
from towscope.web.gate.headers import Headers
from towscope.web.gate.limits import RequestLimits
from towscope.web.gate.origin import Origin
from towscope.web.gate.pairing import Pairing
from towscope.web.gate.sessions import Sessions

STREAM: Final = "/api/stream"


@dataclass(frozen=True)
class Settings:
    """How the app is to be guarded.

    Attributes
    ----------
    lan : bool
        Whether phones may be let in.
    port : int
        Where they reach it.
    home : Path
        Where phones and certificate are kept.
    """

    lan: bool
    port: int
    home: Path


def guard(app: FastAPI, settings: Settings) -> ASGIApp:
    """Put the gate around the app.

    The app finds what the gate keeps under ``app.state.gate``.

    Parameters
    ----------
    app : FastAPI
        The app; without a gate it answers everybody who reaches it.
    settings : Settings
        How it is to be guarded.

    Returns
    -------
    ASGIApp
        What is to be served.

    Raises
    ------
    InputError
        Where the certificate cannot be made or read.
    """
    names = Names(settings.lan)
    kept = Gate(names, settings.port)
    if settings.lan:
        kept.pairing = Pairing()
        kept.sessions = Sessions(settings.home / "sessions" / "phones.json")
        kept.certificate = Certificate(settings.home / "certificate")
        kept.certificate.cover(names.current())
    app.state.gate = kept
    limits = RequestLimits(app, lambda: upload_paths(app.openapi()), STREAM, streams=kept.streams)
    # A stranger's guesses at the code are counted by the pairing itself, his writes by the limits.
    return Headers(Origin(Door(limits, kept), names))


def upload_paths(document: dict[str, Any]) -> list[str]:
    """Give the paths of the API that take files."""
    files = ("multipart/form-data", "application/octet-stream")
    return [
        path
        for path, operations in document.get("paths", {}).items()
        for operation in operations.values()
        if isinstance(operation, dict)
        and any(kind in operation.get("requestBody", {}).get("content", {}) for kind in files)
    ]
