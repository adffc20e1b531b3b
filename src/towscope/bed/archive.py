"""Bounds check of a zip by names and sizes before anything is unpacked."""

from __future__ import annotations

import zipfile
from pathlib import Path, PurePosixPath

from towscope.errors import InputError, one_line

MOST_FILES = 200
MOST_BYTES = 2_000_000_000
MOST_RATIO = 200  # a table of soundings packs 5 to 20 times; a bomb, a thousand


def unpack(path: Path, folder: Path) -> list[Path]:
    """Unpack a zip into an empty folder.

    Parameters
    ----------
    path : Path
        The zip.
    folder : Path
        Where to.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    InputError
        Where a name would leave the folder, it would grow too large, or it is no whole zip.
    """
    name = one_line(path.name, 60)
    try:
        with zipfile.ZipFile(path) as pack:
            entries = [e for e in pack.infolist() if not e.is_dir()]
            if len(entries) > MOST_FILES:
                raise InputError(f"{name} holds {len(entries):,} files; expected one lake's data")
            total = sum(e.file_size for e in entries)
            packed = max(sum(e.compress_size for e in entries), 1)
            if total > MOST_BYTES or (total > 50_000_000 and total / packed > MOST_RATIO):
                raise InputError(
                    f"{name} would unpack from {packed / 1e6:.1f} to {total / 1e6:,.0f} MB: refused"
                )
            files = []
            for entry in entries:
                inside = PurePosixPath(entry.filename.replace("\\", "/"))
                if inside.is_absolute() or ".." in inside.parts or ":" in entry.filename:
                    raise InputError(
                        f'{name} holds "{one_line(entry.filename, 60)}", which would land outside '
                        "the folder: refused"
                    )
                if entry.flag_bits & 1:
                    raise InputError(f"{name} is locked with a password; unpack it first")
                target = folder / inside.name
                left = entry.file_size
                with pack.open(entry) as source, target.open("wb") as out:
                    while block := source.read(min(left + 1, 1 << 20)):
                        left -= len(block)
                        if left < 0:
                            raise InputError(f"{name} lies about its sizes: refused")
                        out.write(block)
                files.append(target)
            return files
    except (zipfile.BadZipFile, NotImplementedError, EOFError, OSError) as error:
        raise InputError(f"{name} is no whole zip ({one_line(error, 80)})") from None
