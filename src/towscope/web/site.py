"""The app as files for any static host: its pages with a mark that no computer will ever answer.

The service worker that comes along keeps all of it on the phone at the first visit.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from towscope.errors import InputError, one_line
from towscope.web.app import PAGES
from towscope.web.gate.headers import POLICY

MARK: Final = '<meta name="towscope-alone" content="yes" />'
PACKED: Final = (".br", ".gz")  # a static host packs by itself, if at all
# A page itself cannot say who may frame it; a host that wants to, says so in its headers.
OF_A_PAGE: Final = "; ".join(p for p in POLICY.split("; ") if not p.startswith("frame-ancestors"))


@dataclass(frozen=True)
class Written:
    """What was written: the folder, how many files, and their size [bytes]."""

    folder: str
    files: int
    size_bytes: int


def write(folder: Path, pages: Path = PAGES) -> Written:
    """Write the app as files.

    Parameters
    ----------
    folder : Path
        Where to: a new or empty folder, or one that this has written before, which is renewed.
    pages : Path
        The built pages.

    Raises
    ------
    InputError
        Where the folder holds anything else or cannot be written, or the pages are not built.
    """
    shown = one_line(folder, 120)
    start = pages / "index.html"
    if not start.is_file():
        raise InputError("the app's pages are not built: expected `make pages` first")
    if folder.exists() and not folder.is_dir():
        raise InputError(f'FOLDER "{shown}" is a file; expected a folder')
    if folder.is_dir() and any(folder.iterdir()) and not _ours(folder):
        raise InputError(
            f'FOLDER "{shown}" holds other things; expected a new or empty folder, or one written '
            "by `towscope site`"
        )
    files = [p for p in sorted(pages.rglob("*")) if p.is_file() and p.suffix not in PACKED]
    size = 0
    try:
        shutil.rmtree(folder / "assets", ignore_errors=True)
        for file in files:
            to = folder / file.relative_to(pages)
            to.parent.mkdir(parents=True, exist_ok=True)
            data = _marked(file.read_text("utf-8")) if file == start else file.read_bytes()
            to.write_bytes(data)
            size += len(data)
    except OSError as error:
        why = error.strerror or "no reason given"
        raise InputError(f'FOLDER "{shown}" cannot be written: {why}') from None
    return Written(str(folder), len(files), size)


def _ours(folder: Path) -> bool:
    try:
        return MARK in (folder / "index.html").read_text("utf-8")
    except (OSError, UnicodeDecodeError):
        return False


def _marked(page: str) -> bytes:
    policy = f'<meta http-equiv="Content-Security-Policy" content="{OF_A_PAGE}" />'
    return page.replace("<head>", f"<head>\n    {policy}\n    {MARK}", 1).encode()
