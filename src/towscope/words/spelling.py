"""Whole-word spelling by unit system: who counts in feet reads color, who counts in metres colour.

What the crew wrote stays as they wrote it: text in double quotes, what was declared with `own`, and
whatever looks like an option, a path, a key or a file name.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from typing import Any, Final

from towscope.words.table import table

# The unit system that this run of the program, or this request, is answered in.
_SYSTEM: Final[ContextVar[str | None]] = ContextVar("towscope_words_system", default=None)
_OWN: Final[ContextVar[frozenset[str]]] = ContextVar("towscope_words_own", default=frozenset())
_TOKEN: Final = re.compile(r"\S+")
_QUOTED: Final = re.compile(r'"[^"\n]*"')
# options, keys, paths, addresses, file names: never touched
_CODE: Final = re.compile(r"^\(?--?\w|[_/\\@=]|\.\w")


def shown_in(system: str) -> None:
    """Fix the unit system by which words are spelled from here on in this context."""
    _SYSTEM.set(system)


def feet(system: str | None = None) -> bool:
    """Say whether this is shown to people who count in feet.

    By the system named; else by that of `shown_in`, and where none is fixed, of
    ``TOWSCOPE_UNITS``.
    """
    name = system or _SYSTEM.get() or os.environ.get("TOWSCOPE_UNITS", "").lower()
    return not name.startswith("metric")


@contextmanager
def own(*texts: str | None) -> Iterator[None]:
    """Declare names that the crew gave; they are shown as written while this lasts."""
    token = _OWN.set(_OWN.get() | {text for text in texts if text})
    try:
        yield
    finally:
        _OWN.reset(token)


@cache
def _pattern() -> re.Pattern[str]:
    words = sorted(table()["spelling"], key=len, reverse=True)
    return re.compile(rf"(?<![^\W_])(?:{'|'.join(words)})(?![^\W_])", re.IGNORECASE)


def _respell(match: re.Match[str]) -> str:
    found = match[0]
    word: str = table()["spelling"][found.lower()]
    if found.islower():
        return word
    if found.isupper():
        return word.upper()
    return word.capitalize() if found == found.capitalize() else found


def _prose(text: str) -> str:
    def token(match: re.Match[str]) -> str:
        return match[0] if _CODE.search(match[0]) else _pattern().sub(_respell, match[0])

    return _TOKEN.sub(token, text)


def spelled(text: str, system: str | None = None) -> str:
    """Spell a text of ours for people who count in feet, or leave it for those in metres.

    Parameters
    ----------
    text : str
        What is shown, written with colour, centre, grey, metre.
    system : str, optional
        Name of the unit system; that of `shown_in` where left out.

    Returns
    -------
    str
        The text; case is kept, and what the crew wrote is left alone.

    Examples
    --------
    >>> spelled("Centre rod: 3 colours of grey line", "us")
    'Center rod: 3 colors of gray line'
    >>> spelled("Centre rod: 3 colours of grey line", "metric")
    'Centre rod: 3 colours of grey line'
    >>> spelled('no rig "centre"; see --colour in colour.toml', "us")
    'no rig "centre"; see --colour in colour.toml'
    """
    if not feet(system) or not _pattern().search(text):
        return text
    names = sorted((re.escape(each) for each in _OWN.get()), key=len, reverse=True)
    left = "|".join([_QUOTED.pattern, *(rf"\b{each}\b" for each in names)])
    parts, at = [], 0
    for kept in re.finditer(left, text):
        parts += [_prose(text[at : kept.start()]), kept[0]]
        at = kept.end()
    return "".join([*parts, _prose(text[at:])])


def retired(text: str) -> list[str]:
    """Find words in a shown text that are not used any more (each with what to write instead)."""
    return [
        f"{match[0]!r} (write {instead})"
        for pattern, instead in table()["retired"]
        for match in re.finditer(pattern, text)
    ]


def respell_figure(figure: Any, system: str | None = None) -> None:
    """Spell all texts of a drawn figure, just before it is written."""
    for text in figure.findobj(lambda each: hasattr(each, "set_text")):
        text.set_text(spelled(text.get_text(), system))


def respell_data(data: Any, system: str | None = None) -> Any:
    """Spell the values of what a sheet shows; its keys are left alone.

    >>> respell_data({"colour": ["3 colours", 2.0]}, "us")
    {'colour': ['3 colors', 2.0]}
    """
    if isinstance(data, str):
        return spelled(data, system)
    if isinstance(data, dict):
        return {key: respell_data(value, system) for key, value in data.items()}
    if isinstance(data, (list, tuple)):
        return [respell_data(value, system) for value in data]
    return data
