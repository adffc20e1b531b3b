"""TOML with its bounds stated: what would cost the reader minutes or gigabytes is refused first.

A dotted key of a hundred thousand parts makes as many tables within each other; a number of
thousands of digits or brackets nested without end stop a parser in other ways. No tackle file needs
any of them.

References
----------
TOML 1.0.0, toml.io (2021).
"""

from __future__ import annotations

import re
import tomllib
from itertools import accumulate
from typing import Any, Final

from towscope.errors import InputError, one_line

MOST_PARTS: Final = 12  # of a dotted key
MOST_DIGITS: Final = 40
DEEPEST: Final = 24
# What may hold anything: strings of all four kinds, and remarks.
_QUOTED: Final = re.compile(
    r'"""(?:\\.|[^\\])*?"""|\'\'\'.*?\'\'\'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|#[^\n]*', re.DOTALL
)
_DOTS: Final = re.compile(rf"(?:\.[^=.,{{}}\n]*){{{MOST_PARTS}}}")
_DIGITS: Final = re.compile(rf"[\d_]{{{MOST_DIGITS}}}|[0-9a-fA-F_]{{{8 * MOST_DIGITS}}}")


def read_toml(text: str) -> dict[str, Any]:
    """Read TOML.

    Parameters
    ----------
    text : str
        All of it.

    Returns
    -------
    dict
        What it says.

    Raises
    ------
    InputError
        Where it is none, or out of all reason; the words go behind the file's name.

    Examples
    --------
    >>> read_toml('lines.core.mass = "2.3 g/m"')
    {'lines': {'core': {'mass': '2.3 g/m'}}}
    >>> read_toml("a" + ".a" * 100_000 + " = 1")
    Traceback (most recent call last):
    towscope.errors.InputError: line 1: a key of more than 12 parts
    """
    bare = _QUOTED.sub(lambda match: '""' + "\n" * match[0].count("\n"), text)
    for pattern, what in (
        (_DOTS, f"a key of more than {MOST_PARTS} parts"),
        (_DIGITS, "a number of far too many digits"),
    ):
        if found := pattern.search(bare):
            raise InputError(f"line {bare.count(chr(10), 0, found.start()) + 1}: {what}")
    depths = accumulate((c in "[{") - (c in "]}") for c in bare)
    if max(depths, default=0) > DEEPEST:
        raise InputError("brackets nested too deep")
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(f"not TOML: {one_line(error, 120)}") from None
