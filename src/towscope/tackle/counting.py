"""A let-out counted as people do: leader, colours, and the rest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towscope.towing.tow import Tow
from towscope.units import System
from towscope.words import term


@dataclass(frozen=True)
class Count:
    """A let-out as it is counted.

    Attributes
    ----------
    colors : float or None
        Colours past the rod tip; None on a rig without coded line.
    before : float
        Line that goes out before the first colour [m].
    after : float
        Line past the last colour [m]; 0 where colours are still on the reel.
    """

    colors: float | None
    before: float
    after: float

    def words(self, system: System) -> str:
        """Say the count as it is called across the boat."""
        if self.colors is None:
            return ""
        if self.colors <= 0.0:
            return term("count", "leader")
        leader = term("count", "then") if self.before > 0.0 else ""
        figure = f"{self.colors:.1f}".removesuffix(".0")
        text = term("count", "one" if figure == "1" else "colors")
        after = ""
        if self.after > 0.05:
            text, after = term("count", "backing"), system.show(self.after, "length")
        return text.format(leader=leader, colors=figure, after=after)


def count(tow: Tow, let_out: float) -> Count:
    """Count a let-out.

    Parameters
    ----------
    tow : Tow
        The rig.
    let_out : float
        Line past the rod tip [m].

    Returns
    -------
    Count
        Colours and the rest.
    """
    coded = np.flatnonzero(np.isfinite(tow.color_length))
    if len(coded) == 0:
        return Count(None, 0.0, 0.0)
    ends = np.cumsum(tow.pieces[:, 0])
    starts = ends - tow.pieces[:, 0]
    out = np.clip(let_out - starts[coded], 0.0, tow.pieces[coded, 0])
    colors = float((out / tow.color_length[coded]).sum())
    after = max(let_out - float(ends[coded[-1]]), 0.0)
    return Count(colors, float(starts[coded[0]]), after)
