"""Tackle as data in the kernels' own figures: a phone answers from it with no computer in reach."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from towscope.answers.tackle_data import tackle_data
from towscope.web.rigging import parts
from towscope.web.rigging.models import Carried

if TYPE_CHECKING:
    from towscope.tackle.shelf import Shelf


def carried(
    shelf: Shelf,
    read: Iterable[str] = (),
    lines_out: Callable[[], bool] = lambda: False,
    *,
    calibrated: bool = True,
) -> Carried:
    """Give the tackle in the kernels' own figures, and in words to choose by.

    Parameters
    ----------
    shelf : Shelf
        The tackle.
    read, lines_out
        As `towscope.web.rigging.parts.rigs` takes them.
    calibrated : bool
        Whether what readings taught goes along.
    """
    return Carried(
        engine=tackle_data(shelf, calibrated=calibrated),
        rigs=parts.rigs(shelf, read, lines_out),
        stock=parts.stock(shelf),
    )
