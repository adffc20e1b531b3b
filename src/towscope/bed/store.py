"""The user's lakes on the disk, each written whole or not at all.

A lake is a folder in ``lakes`` of the user's home: ``lake.json`` and the bed it names, a
cloud-optimised GeoTIFF. The bed is written first under a name made from its content; the lake
changes at the one moment when ``lake.json`` is renamed into place.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
import unicodedata
from pathlib import Path
from typing import Any

import numpy as np

from towscope.bed.bed import MOST_NODES, LakeBed
from towscope.bed.gridding import Frame
from towscope.errors import InputError, one_line
from towscope.files import home, read_text, write_whole
from towscope.geodesy import Place

FORMAT = 1
_RESERVED = {"con", "prn", "aux", "nul", *(f"{n}{k}" for n in ("com", "lpt") for k in range(1, 10))}
BANDS = ("depth", "standard error", "surface run on ashore")


def slug(name: str) -> str:
    """Give the folder name for a lake's name.

    Raises
    ------
    InputError
        Where the name could leave the folder of lakes or not be a folder.

    Examples
    --------
    >>> slug("Long Slate")
    'long-slate'
    >>> slug("../secrets")
    Traceback (most recent call last):
    towscope.errors.InputError: "../secrets" will not do as a lake's name; expected letters, ...
    """
    plain = unicodedata.normalize("NFKC", name).strip()
    if (
        not re.fullmatch(r"[^\W_][\w .'()-]{0,59}", plain)
        or ".." in plain
        or plain.endswith(".")
        or plain.lower() in _RESERVED
    ):
        raise InputError(
            f'"{one_line(name, 40)}" will not do as a lake\'s name; expected letters, digits, '
            "spaces and hyphens, at most 60, beginning with a letter or digit"
        )
    return re.sub(r"[ .'()]+", "-", plain.lower()).strip("-") or "lake"


def folder(name: str) -> Path:
    """Give the folder of a lake, there or not."""
    return home() / "lakes" / slug(name)


def free(name: str) -> str:
    """Give a lake's folder name, unless a lake of another name is saved there.

    Raises
    ------
    InputError
        Where the name will not do, or another lake's name differs from it in marks alone.
    """
    own = slug(name)
    asked = unicodedata.normalize("NFKC", name).strip()
    for other in names():
        if slug(other) == own and other.lower() != asked.lower():
            raise InputError(
                f'"{one_line(name, 40)}" and your lake "{one_line(other, 40)}" are too alike to be '
                f'told apart: expected another name, or "{one_line(other, 40)}" to replace it'
            )
    return own


def names() -> list[str]:
    """Give the names of the lakes that are kept."""
    root = home() / "lakes"
    found = []
    for each in sorted(root.glob("*/lake.json")) if root.is_dir() else []:
        try:
            found.append(str(json.loads(each.read_text("utf-8"))["name"]))
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return found


def save(name: str, bed: LakeBed, facts: dict[str, Any] | None = None) -> Path:
    """Keep a lake, in place of any of the same name.

    Parameters
    ----------
    name : str
        The lake's name.
    bed : LakeBed
        Its bed.
    facts : dict, optional
        More to keep beside the bed's own facts: sources, what was dropped.

    Returns
    -------
    Path
        Its folder.

    Raises
    ------
    InputError
        Where the name will not do or the disk refuses.
    """
    where = home() / "lakes" / free(name)
    try:
        where.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"cannot save the lake: {error.strerror or error}") from None
    data = geotiff(bed)
    file = f"bed-{hashlib.sha256(data).hexdigest()[:12]}.tif"
    kept = {"format": FORMAT, **facts_of(name, bed, facts), "bed": file}
    write_whole(where / file, data)
    text = json.dumps(kept, indent=1, ensure_ascii=False, allow_nan=False)
    write_whole(where / "lake.json", text.encode() + b"\n")
    for old in where.glob("bed-*.tif"):
        if old.name != file:
            old.unlink(missing_ok=True)
    return where


def facts_of(name: str, bed: LakeBed, facts: dict[str, Any] | None = None) -> dict[str, Any]:
    """Give what there is to say of a lake beside its bed, as JSON can hold it; see `facts`."""
    f = bed.frame
    known: dict[str, Any] = _plain(
        {
            "name": unicodedata.normalize("NFKC", name).strip(),
            "bed": "",
            "latitude": bed.place.latitude,
            "longitude": bed.place.longitude,
            "crs": bed.place.definition,
            "west_m": f.west,
            "south_m": f.south,
            "cell_m": f.cell,
            "rows": f.rows,
            "columns": f.columns,
            **bed.measure(),
            **bed.facts,
            **(facts or {}),
        }
    )
    return known


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def geotiff(bed: LakeBed) -> bytes:
    """Give the bed as a cloud-optimised GeoTIFF: depth, standard error, and the surface run on.

    Depth is NaN (no data) ashore and where nothing is known. The lake's own metres are the file's
    coordinate system; cells are centred on the nodes; the first row is the northernmost.
    """
    import rasterio
    from rasterio.io import MemoryFile
    from rasterio.shutil import copy
    from rasterio.transform import Affine

    f = bed.frame
    top = f.south + (f.rows - 0.5) * f.cell
    bands = np.stack(
        [np.where(bed.wet, bed.surface, np.nan).astype(np.float32), bed.sd, bed.surface]
    )[:, ::-1]
    profile = {
        "driver": "GTiff",
        "height": f.rows,
        "width": f.columns,
        "count": 3,
        "dtype": "float32",
        "crs": rasterio.CRS.from_proj4(bed.place.definition),
        "transform": Affine(f.cell, 0.0, f.west - 0.5 * f.cell, 0.0, -f.cell, top),
        "nodata": float("nan"),
    }
    with MemoryFile() as plain, MemoryFile() as packed:
        with plain.open(**profile) as file:
            file.write(bands)
            for k, band in enumerate(BANDS, 1):
                file.set_band_description(k, band)
            file.units = ("metre",) * 3
        with plain.open() as file:
            copy(file, packed.name, driver="COG", compress="DEFLATE", predictor="YES", level="6")
        return bytes(packed.read())


def facts(name: str) -> dict[str, Any]:
    """Give what is kept about a lake beside its bed.

    Raises
    ------
    InputError
        Where there is no such lake, or its file is broken.
    """
    path = folder(name) / "lake.json"
    if not path.is_file():
        have = ", ".join(names()) or "none"
        raise InputError(
            f'no lake is called "{one_line(name, 40)}" here (saved: {have}); make it with '
            f'towscope lake build SOUNDINGS --name "{one_line(name, 40)}"'
        )
    text = read_text(path, expected="a lake's facts", limit=200_000_000)
    try:
        kept = json.loads(text)
        if not isinstance(kept, dict) or kept.get("format") != FORMAT:
            raise ValueError("its format is not known")
    except ValueError as error:
        raise InputError(f"{path} is broken ({one_line(error, 80)}); build the lake anew") from None
    return kept


def load(name: str) -> LakeBed:
    """Give the bed of a kept lake.

    Parameters
    ----------
    name : str
        The lake's name.

    Raises
    ------
    InputError
        Where there is no such lake, or its files are broken.
    """
    import rasterio
    from rasterio.errors import RasterioError

    kept = facts(name)
    where = folder(name)
    try:
        file = str(kept["bed"])
        if not re.fullmatch(r"bed-[0-9a-f]{12}\.tif", file):
            raise ValueError("it names a strange file")
        frame = Frame(
            float(kept["west_m"]), float(kept["south_m"]), float(kept["cell_m"]),
            int(kept["rows"]), int(kept["columns"]),
        )  # fmt: skip
        if frame.rows * frame.columns > MOST_NODES or frame.cell <= 0.0:
            raise ValueError("its grid is out of all reason")
        with rasterio.open(where / file, driver="GTiff") as grid:
            if (grid.height, grid.width, grid.count) != (*frame.shape, 3):
                raise ValueError("its grid is of another size")
            bands = grid.read()[:, ::-1]
        place = Place(float(kept["latitude"]), float(kept["longitude"]))
    except (KeyError, TypeError, ValueError, RasterioError) as error:
        raise InputError(
            f"the lake in {where} is broken ({one_line(error, 80)}); build it anew"
        ) from None
    depth, sd, surface = (np.ascontiguousarray(b) for b in bands)
    return LakeBed(place, frame, surface, sd, np.isfinite(depth), kept)
