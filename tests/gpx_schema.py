"""What a GPX 1.1 file may hold, written out from its published schema, to hold our files against.

Each type of the schema stands in `TYPES`: its attributes, and its children in the order in which
they must come. What is checked: order, how often, required and unknown attributes, the form and
range of every value, namespaces, and that no text stands where only elements may.

References
----------
GPX 1.1, Topografix 2004: gpx.xsd and its schema documentation, topografix.com/GPX/1/1; the values'
forms: W3C XML Schema Part 2, Datatypes (2004). Elements and ranges from memory of that document;
files written by gpxpy, which knows it too, are in the tests beside this.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Final
from xml.etree.ElementTree import Element, fromstring

NAMESPACE: Final = "http://www.topografix.com/GPX/1/1"
_INSTANCE: Final = "{http://www.w3.org/2001/XMLSchema-instance}"
_DECIMAL: Final = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)", re.ASCII)
_WHOLE: Final = re.compile(r"\+?\d+|-0+", re.ASCII)
_ZONE: Final = r"(Z|[+-](0\d|1[0-3]):[0-5]\d|[+-]14:00)?"
_MOMENT: Final = re.compile(
    r"(-?(?:[1-9]\d{3,}|0\d{3}))-(\d\d)-(\d\d)"
    rf"T(?:(?:[01]\d|2[0-3]):[0-5]\d:[0-5]\d(?:\.\d+)?|24:00:00(?:\.0+)?){_ZONE}",
    re.ASCII,
)
_YEAR: Final = re.compile(rf"-?([1-9]\d{{3,}}|0\d{{3}}){_ZONE}", re.ASCII)


class RefusedError(AssertionError):
    """The file breaks the schema; the message names the element and what was expected."""


Value = Callable[[str], bool]


def _text(value: str) -> bool:
    return True


def _decimal(value: str) -> bool:
    return _DECIMAL.fullmatch(value) is not None


def _between(low: float, high: float, *, below: bool = False) -> Value:
    """Give a decimal's range; `below` leaves its upper end out."""

    def fits(value: str) -> bool:
        if not _decimal(value):
            return False
        number = float(value)
        return low <= number < high if below else low <= number <= high

    return fits


def _whole(value: str) -> bool:
    return _WHOLE.fullmatch(value) is not None


def _station(value: str) -> bool:
    return _whole(value) and int(value) <= 1023


def _moment(value: str) -> bool:
    match = _MOMENT.fullmatch(value)
    if match is None:
        return False
    year, month, day = (int(part) for part in match.groups()[:3])
    try:
        date(2000 + abs(year) % 400, month, day)  # the calendar repeats after 400 years
    except ValueError:
        return False
    return year != 0


def _year(value: str) -> bool:
    return _YEAR.fullmatch(value) is not None


def _one_of(*words: str) -> Value:
    return lambda value: value in words


_LAT: Final = _between(-90.0, 90.0)
_LON: Final = _between(-180.0, 180.0, below=True)
MANY: Final = True


@dataclass(frozen=True)
class Kind:
    """One type of the schema: its attributes, its children in order; `free`: any other's."""

    attributes: dict[str, Value] = field(default_factory=dict)
    children: tuple[tuple[str, Value | str, bool], ...] = ()
    free: bool = False


def _in_order(
    *rows: tuple[str, Value | str] | tuple[str, Value | str, bool],
) -> tuple[tuple[str, Value | str, bool], ...]:
    return tuple((row[0], row[1], len(row) == 3) for row in rows)


_ABOUT: Final = (("name", _text), ("cmt", _text), ("desc", _text), ("src", _text))
TYPES: Final = {
    "gpx": Kind(
        {"version": _one_of("1.1"), "creator": _text},
        _in_order(
            ("metadata", "metadata"),
            ("wpt", "wpt", MANY),
            ("rte", "rte", MANY),
            ("trk", "trk", MANY),
            ("extensions", "extensions"),
        ),
    ),
    "metadata": Kind(
        {},
        _in_order(
            ("name", _text),
            ("desc", _text),
            ("author", "person"),
            ("copyright", "copyright"),
            ("link", "link", MANY),
            ("time", _moment),
            ("keywords", _text),
            ("bounds", "bounds"),
            ("extensions", "extensions"),
        ),
    ),
    "wpt": Kind(
        {"lat": _LAT, "lon": _LON},
        _in_order(
            ("ele", _decimal),
            ("time", _moment),
            ("magvar", _between(0.0, 360.0, below=True)),
            ("geoidheight", _decimal),
            *_ABOUT,
            ("link", "link", MANY),
            ("sym", _text),
            ("type", _text),
            ("fix", _one_of("none", "2d", "3d", "dgps", "pps")),
            ("sat", _whole),
            ("hdop", _decimal),
            ("vdop", _decimal),
            ("pdop", _decimal),
            ("ageofdgpsdata", _decimal),
            ("dgpsid", _station),
            ("extensions", "extensions"),
        ),
    ),
    "rte": Kind(
        {},
        _in_order(
            *_ABOUT,
            ("link", "link", MANY),
            ("number", _whole),
            ("type", _text),
            ("extensions", "extensions"),
            ("rtept", "wpt", MANY),
        ),
    ),
    "trk": Kind(
        {},
        _in_order(
            *_ABOUT,
            ("link", "link", MANY),
            ("number", _whole),
            ("type", _text),
            ("extensions", "extensions"),
            ("trkseg", "trkseg", MANY),
        ),
    ),
    "trkseg": Kind({}, _in_order(("trkpt", "wpt", MANY), ("extensions", "extensions"))),
    "extensions": Kind(free=True),
    "person": Kind({}, _in_order(("name", _text), ("email", "email"), ("link", "link"))),
    "copyright": Kind({"author": _text}, _in_order(("year", _year), ("license", _text))),
    "link": Kind({"href": _text}, _in_order(("text", _text), ("type", _text))),
    "email": Kind({"id": _text, "domain": _text}),
    "bounds": Kind({"minlat": _LAT, "minlon": _LON, "maxlat": _LAT, "maxlon": _LON}),
}


def hold_against_schema(text: str) -> None:
    """Raise `RefusedError` where a file breaks the schema of GPX 1.1."""
    root = fromstring(text)
    if root.tag != f"{{{NAMESPACE}}}gpx":
        raise RefusedError(f"the root is {root.tag}; expected gpx of {NAMESPACE}")
    _hold(root, "gpx", "gpx")


def _hold(element: Element, name: str, path: str) -> None:
    kind = TYPES[name]
    for key in kind.attributes.keys() - element.keys():
        raise RefusedError(f"{path} lacks the attribute {key}")
    for key, value in element.items():
        if key.startswith(_INSTANCE):  # schemaLocation may stand anywhere
            continue
        fits = kind.attributes.get(key)
        if fits is None:
            raise RefusedError(f"{path} has an attribute {key}, which it may not")
        if not fits(value if fits is _text else value.strip()):
            raise RefusedError(f'{path}: {key}="{value}" is none of its values')
    loose = [element.text, *(child.tail for child in element)]
    if any(words and words.strip() for words in loose):
        raise RefusedError(f"{path} holds text; expected elements alone")
    if kind.free:
        for child in element:
            if child.tag.startswith(f"{{{NAMESPACE}}}") or not child.tag.startswith("{"):
                raise RefusedError(f"{path} holds {child.tag}; expected another namespace")
        return
    _children(element, kind, path)


def _children(element: Element, kind: Kind, path: str) -> None:
    at, seen = 0, False
    names = [row[0] for row in kind.children]
    for child in element:
        space, _, name = child.tag.rpartition("}")
        if space != f"{{{NAMESPACE}" or name not in names:
            raise RefusedError(f"{path} holds {child.tag}, which it may not")
        place = names.index(name)
        if place < at:
            raise RefusedError(f"{path}: {name} comes after {names[at]}; expected before it")
        if place == at and seen and not kind.children[place][2]:
            raise RefusedError(f"{path} holds {name} twice")
        at, seen = place, True
        of = kind.children[place][1]
        if isinstance(of, str):
            _hold(child, of, f"{path}/{name}")
        else:
            _value(child, of, f"{path}/{name}")


def _value(element: Element, fits: Value, path: str) -> None:
    if len(element):
        raise RefusedError(f"{path} holds elements; expected a value")
    for key in element.keys():  # noqa: SIM118 (an Element is no dict)
        if not key.startswith(_INSTANCE):
            raise RefusedError(f"{path} has an attribute {key}, which it may not")
    value = element.text or ""
    if not fits(value if fits is _text else value.strip()):
        raise RefusedError(f'{path}: "{value}" is none of its values')
