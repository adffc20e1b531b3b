"""UUIDs of version 7 made on the spot: names that never clash and sort by the time made.

A name is a UUID of version 7: 48 bits of time in milliseconds, then chance. Two phones and a laptop
without any connection make different names, and sorting the names sorts the entries.

References
----------
RFC 9562 (2024), "Universally Unique IDentifiers (UUIDs)", section 5.7 and appendix A.6.
"""

from __future__ import annotations

import secrets
import threading
import uuid
from typing import Final

from towscope.clock import time_s
from towscope.errors import InputError, one_line

_RANDOM_BITS: Final = 74
_LAST_MS: Final = 16_725_225_600_000  # 2500: no clock that can be put right runs so far ahead
_lock: Final = threading.Lock()
_last: tuple[int, int] = (0, 0)


def new_id(after: str | None = None, *, now_s: float | None = None) -> str:
    """Make a name that sorts behind `after` and behind all made here in the same instant.

    Parameters
    ----------
    after : str, optional
        A name this one must sort behind: what an undo takes back, for instance, though that was
        made on a phone whose clock runs ahead.
    now_s : float, optional
        Unix time [s] instead of the clock's.

    Returns
    -------
    str
        The name, 36 characters.

    Examples
    --------
    >>> first = new_id()
    >>> first < new_id() and first < new_id(after=first)
    True
    """
    global _last
    now = int((time_s() if now_s is None else now_s) * 1000)
    with _lock:
        stamp, chance = now, secrets.randbits(_RANDOM_BITS)
        floors = [_last] if _last[0] == now else []
        if after is not None:
            floors.append(_split(after))
        for floor in floors:
            if (stamp, chance) <= floor:
                stamp, chance = floor[0], floor[1] + 1 + secrets.randbits(32)
                if chance >> _RANDOM_BITS:  # the instant is used up: borrow the next
                    stamp, chance = stamp + 1, secrets.randbits(32)
        _last = (stamp, chance)
    return join_id(stamp, chance)


def made_s(name: str) -> float:
    """Give the unix time [s] at which a name was made, by the clock of the device that made it.

    Examples
    --------
    The standard's own example, made on 22 February 2022 at 19:22:22 UTC:

    >>> made_s("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
    1645557742.0
    """
    return _split(name)[0] / 1000.0


def check_id(text: str) -> str:
    """Give the name in its one spelling, or say what is wrong with it.

    Raises
    ------
    InputError
        Where it is no UUID of version 7.
    """
    try:
        parsed = uuid.UUID(text)
    except (ValueError, AttributeError, TypeError):
        parsed = None
    if parsed is None or parsed.version != 7 or parsed.int >> 80 > _LAST_MS:
        raise InputError(f'"{one_line(text, 50)}" is no entry\'s id; expected a UUID of version 7')
    return str(parsed)


def _split(name: str) -> tuple[int, int]:
    number = uuid.UUID(name).int
    return number >> 80, ((number >> 64) & 0xFFF) << 62 | (number & ((1 << 62) - 1))


def join_id(stamp: int, chance: int) -> str:
    """Make a name of a time [ms] and 74 bits of chance that are given, for days made up by rule."""
    high, low = chance >> 62, chance & ((1 << 62) - 1)
    return str(uuid.UUID(int=stamp << 80 | 7 << 76 | high << 64 | 2 << 62 | low))
