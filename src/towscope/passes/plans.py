"""Plans of passes kept whole beside a lake's bed until they are removed.

A plan is a few files of one name in the lake's folder of plans. The short one is written last: a
plan is there once all of it is.
"""

from __future__ import annotations

import json
import re
import secrets
from pathlib import Path
from typing import Any, Literal

from towscope import clock
from towscope.bed.store import folder
from towscope.errors import InputError, one_line
from towscope.files import read_text, write_whole

FORMAT = 1
SHORT, WHOLE = ".json", "-whole.json"
MAX_BYTES = 60_000_000
_NAME = re.compile(r"\d{8}-\d{6}-[0-9a-f]{6}")


def keep(lake: str, short: dict[str, Any], whole: dict[str, Any], files: dict[str, bytes]) -> str:
    """Keep a plan.

    Parameters
    ----------
    lake : str
        The lake's name.
    short, whole : dict
        What a list of plans shows, and all of it; what JSON can hold.
    files : dict
        Ending to content of more files: ``".pdf"``.

    Returns
    -------
    str
        The plan's name.

    Raises
    ------
    InputError
        Where the disk refuses; no part of the plan is then seen.
    """
    where = folder(lake) / "plans"
    try:
        where.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"cannot save the plan: {error.strerror or error}") from None
    now = clock.now()
    name = f"{now:%Y%m%d-%H%M%S}-{secrets.token_hex(3)}"
    more = {"format": FORMAT, "id": name, "made": now.isoformat(timespec="seconds")}
    written = []
    try:
        for ending, data in files.items():
            written.append(where / f"{name}{ending}")
            write_whole(written[-1], data)
        for ending, body in ((WHOLE, whole), (SHORT, short)):
            text = json.dumps({**more, **body}, ensure_ascii=False, allow_nan=False)
            written.append(where / f"{name}{ending}")
            write_whole(written[-1], text.encode() + b"\n")
    except InputError:
        for path in written:
            path.unlink(missing_ok=True)
        raise
    return name


def listed(lake: str) -> list[dict[str, Any]]:
    """Give the short form of each plan of a lake, the newest first; broken ones are passed over."""
    where = folder(lake) / "plans"
    found = []
    for path in sorted(where.glob("*.json"), reverse=True) if where.is_dir() else []:
        if not _NAME.fullmatch(path.stem):
            continue
        try:
            found.append(_read(path))
        except InputError:
            continue
    return found


def whole(lake: str, name: str) -> dict[str, Any]:
    """Give all of a plan.

    Raises
    ------
    InputError
        Where there is none of that name, or it is broken.
    """
    return _read(_path(lake, name, WHOLE))


def file(lake: str, name: str, ending: Literal[".pdf", "-us.gpx", "-metric.gpx"]) -> bytes:
    """Give one of a plan's files.

    Raises
    ------
    InputError
        Where there is no such plan.
    """
    path = _path(lake, name, ending)
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{one_line(path.name, 80)}: {error.strerror or error}") from None


def remove(lake: str, name: str) -> None:
    """Take a plan away.

    Raises
    ------
    InputError
        Where there is none of that name.
    """
    _path(lake, name, SHORT).unlink(missing_ok=True)  # first: from here on it is not listed
    for path in (folder(lake) / "plans").glob(f"{name}*"):
        path.unlink(missing_ok=True)


def _path(lake: str, name: str, ending: str) -> Path:
    path = folder(lake) / "plans" / f"{name}{ending}"
    if not _NAME.fullmatch(name) or not path.is_file():
        raise InputError(f'no plan "{one_line(name, 40)}" is kept for {one_line(lake, 60)}')
    return path


def _read(path: Path) -> dict[str, Any]:
    text = read_text(path, expected="a plan of passes", limit=MAX_BYTES)
    try:
        found = json.loads(text)
        if not isinstance(found, dict) or found.get("format") != FORMAT:
            raise ValueError("its format is not known")
    except ValueError as error:
        raise InputError(f"{path.name} is broken ({one_line(error, 80)})") from None
    return found
