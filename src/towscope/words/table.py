"""The one list of words, read from `words.json`."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table() -> dict[str, Any]:
    """Give the list as it is in the file."""
    text = files("towscope.words").joinpath("words.json").read_text(encoding="utf-8")
    read: dict[str, Any] = json.loads(text)
    return read


def terms(group: str) -> dict[str, str]:
    """Give a group of names, in the order they are shown.

    >>> list(terms("rooms").values())
    ['Lines', 'Log', 'Lake', 'Rigs', 'Pattern', 'Trip']
    """
    found: dict[str, str] = table()["terms"][group]
    return dict(found)


def term(group: str, key: str) -> str:
    """Give what people read for a key; the key itself where the list has no word for it.

    >>> term("kinds", "bottom_hit"), term("entries", "bottom_hit")
    ('Hit bottom', 'bottom hit')
    """
    found: dict[str, str] = table()["terms"][group]
    return found.get(key, key)
