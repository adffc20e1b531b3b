"""One rig put into the user's own tackle file so that nothing else in it changes.

The file is the user's: remarks, order and spelling stay as they are. It is written whole or not at
all, and only where what it then says is what it said before with that one rig changed.
"""

from __future__ import annotations

import copy
import threading
import unicodedata
from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from typing import Any, Final

import tomlkit
from tomlkit.exceptions import TOMLKitError

from towscope.errors import InputError, one_line
from towscope.files import home, read_text, write_whole
from towscope.formats.toml import read_toml
from towscope.tackle.reading import EXPECTED, MAX_BYTES, NAME, check, parsed
from towscope.tackle.shelf import Shelf, stock

FILE: Final = "tackle.toml"
KINDS: Final = ("lines", "lures", "rigs", "reels")
_lock = threading.Lock()


def place() -> Path:
    """Give the user's tackle file, there or not."""
    return home() / FILE


def check_name(name: str, what: str = "rig") -> str:
    """Refuse a name that no tackle file could hold.

    >>> check_name("port-10")
    'port-10'
    """
    if not NAME.fullmatch(name):
        raise InputError(
            f'the {what}\'s name "{one_line(name, 40)}": expected a short name of letters, '
            "digits, dashes and underlines"
        )
    return name


_LETTERS: Final = str.maketrans(
    {"ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
)
_LONGEST: Final = 56


def key_of(title: str, taken: Collection[str] = ()) -> str:
    """Make a key for what the crew calls a rig: one that any command line can say, and no other's.

    The name itself stays as it is written, beside the key.

    Parameters
    ----------
    title : str
        The name as people write it, in any script.
    taken : collection of str
        Keys that are another's.

    Examples
    --------
    >>> key_of("Åke's"), key_of("Port rod, 10 colours"), key_of("左舷")
    ('akes', 'port-rod-10-colours', 'rig')
    >>> key_of("Akes", {"akes", "akes-2"})
    'akes-3'
    """
    plain = unicodedata.normalize("NFKD", title.casefold().translate(_LETTERS))
    kept = "".join(
        c if c.isascii() and c.isalnum() else "" if unicodedata.combining(c) or c in "'’`´" else " "
        for c in plain
    )
    base = "-".join(kept.split())[:_LONGEST].strip("-") or "rig"
    number, key = 1, base
    while key in taken:
        number += 1
        key = f"{base}-{number}"
    return key


def keep(name: str, rig: Mapping[str, Any], own: Mapping[str, Mapping[str, Any]] = {}) -> Shelf:
    """Keep a rig, with lines and lures of its own, under a name.

    Parameters
    ----------
    name : str
        The rig's name; one that is kept already is changed.
    rig : mapping
        The rig as a tackle file says it.
    own : mapping
        "lines" and "lures" to tables by name, likewise.

    Returns
    -------
    Shelf
        The tackle as it is then.

    Raises
    ------
    InputError
        Where the name, the rig or the file is wrong; the file is as it was.
    """
    check_name(name)
    for kind, things in own.items():
        for thing in things:
            check_name(thing, kind.removesuffix("s"))
    tables = {**{kind: dict(things) for kind, things in own.items()}, "rigs": {name: rig}}

    def change(data: dict[str, Any]) -> None:
        for kind, things in tables.items():
            for key, table in things.items():
                here = data.setdefault(kind, {})
                here[key] = _plain(table)

    def edit(document: tomlkit.TOMLDocument) -> None:
        for kind, things in tables.items():
            if things and kind not in document:
                document.add(kind, tomlkit.table(is_super_table=True))
            for key, table in things.items():
                _lay(document[kind], key, _plain(table))

    return _rewrite(change, edit, lambda shelf: shelf.tow(name))


def drop(name: str) -> Shelf:
    """Take a rig out of the user's tackle file.

    Returns
    -------
    Shelf
        The tackle as it is then.

    Raises
    ------
    InputError
        Where the file does not hold it.
    """
    check_name(name)
    held = _read()[1]
    if name not in held.get("rigs", {}):
        where = "the stock, which stays" if name in stock().rigs else "no file of yours"
        raise InputError(f'rig "{name}" is in {where}; expected a saved one')

    def change(data: dict[str, Any]) -> None:
        del data["rigs"][name]
        if not data["rigs"]:
            del data["rigs"]

    def edit(document: tomlkit.TOMLDocument) -> None:
        rigs: Any = document["rigs"]
        del rigs[name]
        if not rigs:
            del document["rigs"]

    return _rewrite(change, edit, lambda shelf: None)


def _rewrite(
    change: Callable[[dict[str, Any]], None],
    edit: Callable[[tomlkit.TOMLDocument], None],
    prove: Callable[[Shelf], object],
) -> Shelf:
    """Write the file anew, where it then says what it should and all of it makes sense."""
    with _lock:
        text, data = _read()
        goal = copy.deepcopy(data)
        change(goal)
        new = _edited(text, edit, goal)
        shown = one_line(place(), 120)
        shelf = stock().over(check(new, shown), shown) if goal else stock()
        prove(shelf)
        try:
            place().parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(f"cannot save the tackle: {error.strerror or error}") from None
        if goal:
            write_whole(place(), new.encode())
        else:
            _emptied(new)
    return shelf


def _emptied(text: str) -> None:
    """Leave what remarks a file without tackle still holds beside it, out of the way."""
    if any(line.strip() for line in text.splitlines()):
        write_whole(place().with_name(f"{FILE}.remarks"), text.encode())
    place().unlink(missing_ok=True)


def _edited(text: str, edit: Callable[[tomlkit.TOMLDocument], None], goal: dict[str, Any]) -> str:
    try:
        document = tomlkit.parse(text)
        edit(document)
        new = tomlkit.dumps(document)
        said = read_toml(new)
    except (TOMLKitError, InputError, ValueError, KeyError, TypeError) as error:
        said, new = {"": one_line(error, 60)}, ""
    if _plain(said) != _plain(goal):
        raise InputError(
            f"{one_line(place(), 120)} is laid out so that it cannot be changed without disturbing "
            "it; expected a table for each rig: [rigs.NAME]"
        )
    return new


def _lay(tables: Any, key: str, goal: dict[str, Any]) -> None:
    """Make one table say what it should; what it says already is left as it is spelled."""
    if key not in tables:
        tables[key] = _table(goal)
        return
    table = tables[key]
    for old in [k for k in table if k not in goal]:
        del table[old]
    for name, value in goal.items():
        if name not in table or _plain(table[name]) != value:
            table[name] = _item(value)


def _table(goal: dict[str, Any]) -> Any:
    table = tomlkit.table()
    for name, value in goal.items():
        table.add(name, _item(value))
    return table


def _item(value: Any) -> Any:
    """Write lists of tables one to a line, from the lure up, as people do."""
    if isinstance(value, dict):
        inner = tomlkit.inline_table()
        inner.update({k: _item(v) for k, v in value.items()})
        return inner
    if isinstance(value, list):
        array = tomlkit.array()
        for part in value:
            array.append(_item(part))
        return array.multiline(True)
    return tomlkit.item(value)


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    return value.unwrap() if hasattr(value, "unwrap") else value


def _read() -> tuple[str, dict[str, Any]]:
    path = place()
    if not path.exists():
        return "", {}
    text = read_text(path, expected=EXPECTED, limit=MAX_BYTES)
    return text, parsed(text, one_line(path, 120), EXPECTED)
