"""Files written beside and renamed, and read within bounds: the user's things, never half there."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

from towscope.errors import ArgumentError, InputError, one_line

MAX_TEXT_BYTES = 5_000_000


def home() -> Path:
    """Give the folder that holds what the user keeps: ``TOWSCOPE_HOME`` or the platform's own."""
    chosen = os.environ.get("TOWSCOPE_HOME")
    if chosen:
        return Path(chosen).expanduser()
    from platformdirs import user_data_path

    return user_data_path("towscope", appauthor=False)


def writable(path: str | Path, endings: Sequence[str], name: str = "path") -> Path:
    """Give a file that can be written: its name ends rightly, and its folder is there.

    Raises
    ------
    InputError
        Naming the argument and the endings expected.
    """
    file = Path(path)
    if file.suffix.lower() not in endings:
        raise ArgumentError(
            name, f' "{one_line(file.name, 60)}": expected a name ending in {", ".join(endings)}'
        )
    folder_there(file)
    return file


def read_text(
    path: Path, *, expected: str, limit: int = MAX_TEXT_BYTES, noughts: float = 0.0
) -> str:
    """Read a text file whole.

    Parameters
    ----------
    path : Path
        The file.
    expected : str
        What it should hold, for the messages: "a tackle file (TOML)".
    limit : int
        Largest size taken [bytes].
    noughts : float
        Share of nought bytes that is passed over: a logger switched off in mid-write leaves some.

    Raises
    ------
    InputError
        Where the file is missing, a folder, too large, empty, binary or not UTF-8.
    """
    shown = one_line(path, 120)
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise InputError(f"{shown} is a folder; expected {expected}")
        if size > limit:
            raise InputError(
                f"{shown} is {size / 1e6:.0f} MB; expected {expected}, at most {limit / 1e6:.0f} MB"
            )
        with path.open("rb") as stream:
            data = stream.read(limit + 1)
    except OSError as error:
        raise InputError(f"{shown}: {error.strerror or error}; expected {expected}") from None
    if len(data) > limit:  # a pipe or device has no size until it is read
        raise InputError(f"{shown} is over {limit / 1e6:.0f} MB; expected {expected}")
    if not data.strip():
        raise InputError(f"{shown} is empty; expected {expected}")
    if noughts and 0 < data.count(b"\x00") <= noughts * len(data):
        data = data.replace(b"\x00", b"")
    if b"\x00" in data:
        raise InputError(f"{shown} is binary; expected {expected}")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise InputError(
            f"{shown}, line {line}: not UTF-8; expected {expected} saved as UTF-8"
        ) from None


def folder_there(path: Path) -> None:
    """Refuse a file whose folder is missing, before the work whose answer it is to hold.

    Raises
    ------
    InputError
        Where there is no such folder.
    """
    if not path.parent.is_dir():
        raise InputError(
            f"cannot write {one_line(path, 120)}: there is no folder {one_line(path.parent, 120)}"
        )


def write_whole(path: Path, data: bytes, *, private: bool = False) -> None:
    """Write a file whole or not at all: beside it first, then renamed over it.

    Parameters
    ----------
    path : Path
        The file.
    data : bytes
        What it is to hold.
    private : bool
        Whether nobody but the user may read it (mode 600).

    Raises
    ------
    InputError
        Where the folder is missing or the disk is full; the old file, if any, is untouched.
    """
    shown = one_line(path, 120)
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(
            dir=path.parent, prefix=f".{path.name}.", suffix=".part"
        )
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if not private:  # a temporary file is private from the start
            umask = os.umask(0)
            os.umask(umask)
            Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(path)
    except OSError as error:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)
        raise InputError(f"cannot write {shown}: {error.strerror or error}") from None
