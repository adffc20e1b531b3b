"""Marks and headings of a table of text: what parts its columns, and what they mean."""

from __future__ import annotations

import re

MARKS = "\t;,|"
# headings as receivers, plotters and survey programs write them
LATITUDE = ("lat", "latitude", "lat_deg", "latitude_deg", "lat_dd", "gps_lat")
LONGITUDE = ("lon", "longitude", "long", "lng", "lon_deg", "longitude_deg", "lon_dd", "long_dd",
             "gps_lon")  # fmt: skip


def parting(line: str, otherwise: str = ",") -> str:
    """Give what parts the columns of a heading: the likeliest mark, or `otherwise` without any.

    >>> parting("time;lat;lon"), parting("depth_m"), parting("x y z", " ")
    (';', ',', ' ')
    """
    mark = max(MARKS, key=line.count)
    return mark if mark in line else otherwise


def heading(cell: str) -> str:
    """Give a heading in small letters, joined by low lines.

    >>> heading(' "Depth (ft)" ')
    'depth_ft'
    """
    return re.sub(r"[^a-z0-9]+", "_", cell.lower()).strip("_")


def says_nothing(line: str) -> bool:
    """Tell whether a line of a table is empty or a remark."""
    return not line.strip() or line.lstrip().startswith("#")


def decimal_comma(mark: str, line: str) -> bool:
    """Tell whether the figures of a line have commas for points, given what parts its columns."""
    return mark != "," and "," in line


def figure(cell: str, comma: bool = False) -> float:
    """Read a figure, with a comma for its point if `comma`.

    Raises
    ------
    ValueError
        Where it is none.

    Examples
    --------
    >>> figure(" 9,4", comma=True)
    9.4
    """
    text = cell.strip().replace("−", "-")
    return float(text.replace(",", ".") if comma else text)
