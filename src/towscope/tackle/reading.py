"""Reader of a tackle file that names what is wrong, and where."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from towscope.errors import InputError, one_line
from towscope.files import read_text
from towscope.formats.toml import read_toml
from towscope.tackle.models import Line, Lure, Reel, RigParts, TackleFile, WaterState

EXPECTED = "a tackle file (TOML, UTF-8)"
MAX_BYTES = 1_000_000
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")
_TABLES: dict[str, type[BaseModel]] = {
    "lines": Line,
    "lures": Lure,
    "rigs": RigParts,
    "reels": Reel,
    "water": WaterState,
}
M = TypeVar("M", bound=BaseModel)


def read(path: Path) -> TackleFile:
    """Read and check a tackle file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    TackleFile
        What it says.

    Raises
    ------
    InputError
        One line: the file, the place in it, what is wrong and what is expected.
    """
    return check(read_text(path, expected=EXPECTED, limit=MAX_BYTES), one_line(path, 120))


def check(text: str, shown: str) -> TackleFile:
    """Check the text of a tackle file that goes by the name `shown`."""
    data = parsed(text, shown, EXPECTED)
    if not any(key in data for key in _TABLES):
        known = ", ".join(f"[{name}]" for name in _TABLES)
        raise InputError(f"{shown}: holds no tackle; expected tables among {known}")
    return checked(TackleFile, data, text, shown)


def parsed(text: str, shown: str, expected: str) -> dict[str, Any]:
    """Read TOML, naming what was expected where it is none."""
    try:
        return read_toml(text)
    except InputError as error:
        raise InputError(f"{shown}: {error}; expected {expected}") from None


def checked(model: type[M], data: dict[str, Any], text: str, shown: str) -> M:
    """Check what a file says against what it may say.

    Parameters
    ----------
    model : type
        What the file may say.
    data, text, shown : dict, str, str
        The file as TOML reads it, its text, and its name for messages.

    Raises
    ------
    InputError
        One line: the file, the place in it, what is wrong and what is expected.
    """
    for table, names in data.items():
        field = model.model_fields.get(table)
        named = field is not None and str(field.annotation).startswith("dict[str, ")
        for name in names if named and isinstance(names, dict) else ():
            if not NAME.fullmatch(name) and table != "source":
                raise InputError(
                    f'{shown}: [{table}] "{one_line(name, 40)}": expected a short name of letters, '
                    "digits, dashes and underlines"
                )
    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise InputError(f"{shown}{_first(error, text, model)}") from None


def _first(error: ValidationError, text: str, model: type[BaseModel]) -> str:
    """Tell the first fault of several: where it is and what is wrong with it."""
    faults = error.errors(include_url=False)
    fault = faults[0]
    place = [str(part) for part in fault["loc"]]
    # unions report a branch of theirs as the last part of the place
    while place and place[-1] in ("float", "str") and len(place) > 1:
        place.pop()
    line = _line_number(text, place)
    where = f", line {line}" if line else ""
    more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
    return f"{where}: {'.'.join(place) or 'file'}: {_words(fault, place, model)}{more}"


def _words(fault: Any, place: list[str], model: type[BaseModel]) -> str:
    kind = fault["type"]
    if kind == "extra_forbidden":
        keys = ", ".join(_keys(model, place[:-1]))
        return f"unknown key; expected one of: {keys}" if keys else "unknown key"
    if kind == "missing":
        return "missing, and needed"
    if kind == "value_error":
        return str(fault["ctx"]["error"])
    return f"{fault['msg'][0].lower()}{fault['msg'][1:]}, not {one_line(repr(fault['input']), 40)}"


def _keys(model: type[BaseModel], place: list[str]) -> list[str]:
    """Keys that the table at a place may hold."""
    here: Any = model
    for part in place:
        if isinstance(here, type) and issubclass(here, BaseModel):
            field = here.model_fields.get(part)
            here = field.annotation if field is not None else None
        else:  # a table of names, or a list
            here = get_args(here)[-1] if get_args(here) else None
        parts = [p for p in get_args(here) if isinstance(p, type) and issubclass(p, BaseModel)]
        if type(None) in get_args(here) and parts:
            here = parts[0]
    return list(here.model_fields) if isinstance(here, type) and issubclass(here, BaseModel) else []


def _line_number(text: str, place: list[str]) -> int | None:
    """Find the line of a key path, as nearly as tables and keys can be told from the text."""
    found: int | None = None
    depth = 0
    for number, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if bare.startswith("["):
            path = [p.strip(" \"'") for p in re.split(r"\.(?![^\"]*\"\s*$)", bare.strip("[] \t"))]
            shared = 0
            while shared < min(len(path), len(place)) and path[shared] == place[shared]:
                shared += 1
            if shared == len(path) and shared > 0:
                found, depth = number, shared
            elif found is not None and depth:
                depth = 0
        elif (
            depth
            and depth < len(place)
            and re.match(rf"[\"']?{re.escape(place[depth])}[\"']?\s*[.=]", bare)
        ):
            return number
    return found
