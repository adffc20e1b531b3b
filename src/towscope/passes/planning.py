"""From lake, depth, rig and wind to passes: the whole question put together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from towscope.bed.bed import LakeBed
from towscope.bed.edges import checked_depth, edges
from towscope.errors import InputError, NoAnswer
from towscope.passes.candidates import SHORTEST, Stretch, Wind, choose
from towscope.passes.figures import PassBrief, PlanFigures, brief, figures
from towscope.passes.passes import Pass, Wishes, plan
from towscope.passes.turn_radius import wide_turn
from towscope.progress import Progress, unheard
from towscope.towing.questions import let_out_for
from towscope.towing.tow import Setting, Tow

MOST = 12  # passes
EDGES_SHARE = 0.04  # of the work


@dataclass(frozen=True)
class PassQuestion:
    """What is asked.

    Attributes
    ----------
    depth : float
        Depth of the edge [m].
    wind : Wind
        The wind.
    wishes : Wishes
        How the lure is to run.
    most : int
        Most passes.
    turn : float or None
        Tightest bend of the line that the lure follows [m]; what its layback allows if None.
    shortest : float
        Shortest pass [m].
    """

    depth: float
    wind: Wind
    wishes: Wishes
    most: int = 3
    turn: float | None = None
    shortest: float = SHORTEST

    def __post_init__(self) -> None:
        if not 1 <= self.most <= MOST:
            raise InputError(f"{self.most} passes; expected 1 to {MOST}")
        if not self.wishes.clearance < self.depth:
            raise InputError(
                f"{self.wishes.clearance:g} m off bottom; expected less than the depth of the "
                f"edge, {self.depth:g} m"
            )


@dataclass(frozen=True, repr=False)
class PlannedPasses:
    """Passes along the edges of a lake, in the order to run them.

    Attributes
    ----------
    lake, rig : str
        Their names.
    bed : LakeBed
        The lake's bottom.
    ask : PassQuestion
        What was asked.
    passes : list of Pass
        In the order to run them.
    left_out : list of str
        What was left out, and why, in plain words.
    """

    lake: str
    rig: str
    bed: LakeBed
    ask: PassQuestion
    passes: list[Pass]
    left_out: list[str]

    @cached_property
    def figures(self) -> PlanFigures:
        """All figures, in SI."""
        ask = self.ask
        return {
            **figures(self.passes, self.bed.place, self.lake, ask.wishes.limit),
            "rig": self.rig,
            "depth_m": ask.depth,
            "speed_m_s": ask.wishes.speed,
            "wind_from_deg": ask.wind.source,
            "wind_m_s": ask.wind.speed,
            "left_out": self.left_out,
        }

    @property
    def briefs(self) -> list[PassBrief]:
        """Each pass in short."""
        limit = self.ask.wishes.limit
        return [brief(number, each, limit) for number, each in enumerate(self.passes, 1)]


def stretches(
    bed: LakeBed, tow: Tow, ask: PassQuestion, length: Callable[[float], str]
) -> list[Stretch]:
    """Find the stretches of edge to run, the best first.

    Parameters
    ----------
    bed : LakeBed
        The lake.
    tow : Tow
        The rig.
    ask : PassQuestion
        What is asked.
    length : callable
        Writes a length for the messages.

    Raises
    ------
    NoAnswer
        Where nothing breaks at that depth, or no such line can be followed there.
    """
    checked_depth(bed, ask.depth)
    where = let_out_for(tow, ask.depth - ask.wishes.clearance, Setting(ask.wishes.speed)).where
    radius = ask.turn if ask.turn is not None else wide_turn(where.layback)
    found = edges(bed, ask.depth)
    if not found:
        raise NoAnswer(
            f"nothing breaks steeply enough at {length(ask.depth)} here to be called an edge; "
            "look at the edges of other depths, or at gentler ones"
        )
    return choose(
        found, ask.wind, ask.wishes.speed, radius=radius, shortest=ask.shortest, most=ask.most
    )


def planned(
    bed: LakeBed,
    tow: Tow,
    ask: PassQuestion,
    *,
    lake: str,
    rig: str,
    progress: Progress = unheard,
    length: Callable[[float], str] = "{:.1f} m".format,
) -> PlannedPasses:
    """Plan passes.

    Parameters
    ----------
    bed : LakeBed
        The lake.
    tow : Tow
        The rig, made ready.
    ask : PassQuestion
        What is asked.
    lake, rig : str
        Their names.
    progress : callable, optional
        Called with the share done and a line on what is being done; may raise to stop it.
    length : callable
        Writes a length for the messages.

    Returns
    -------
    PlannedPasses
        The plan.

    Raises
    ------
    NoAnswer
        Where no pass can be run so; the message says why.
    """
    progress(0.0, "looking for edges")
    found = stretches(bed, tow, ask, length)

    def rest(share: float, line: str) -> None:
        progress(EDGES_SHARE + (1.0 - EDGES_SHARE) * share, line)

    passes, left_out = plan(bed, tow, found, ask.wishes, progress=rest, length=length)
    return PlannedPasses(lake, rig, bed, ask, passes, left_out)
