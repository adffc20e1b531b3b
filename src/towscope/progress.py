"""Callbacks that hear how far long work is: one name and one type for all that takes its time."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[float, str], None]
"""Called with the share done (0 to 1) and what is being done; what it raises stops the work."""

Detail = Callable[[str], None]
"""Called with more on what is being done, by a part that knows nothing of the share."""


def unheard(share: float, doing: str) -> None:
    """Let it pass: nobody listens."""


def details(progress: Progress, share: float, doing: str = "") -> Detail:
    """Give what hears of a part that takes nobody knows how long: its share stands.

    >>> details(lambda share, doing: print(share, doing), 0.5, "solving")("12 nodes")
    0.5 solving: 12 nodes
    """
    return lambda more: progress(share, ": ".join(each for each in (doing, more) if each))
