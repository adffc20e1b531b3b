"""Route for whether the lines out get through a turn without tangling, and how tight."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Final, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field

from towscope.errors import ArgumentError, InputError, NoAnswer, one_line
from towscope.progress import Progress
from towscope.units import SYSTEMS
from towscope.web.context import AppContext, Here
from towscope.web.jobs import Job
from towscope.web.saying import SystemName

if TYPE_CHECKING:
    from towscope.spreads.plan import SpreadPlan
    from towscope.units import System

router = APIRouter(prefix="/api/run", tags=["run"])

DRAWS: Final = 12
SPEED: Final = 0.894  # [m/s]; 2 mph, where the boat's own is not known or she stands
SLOWEST: Final = 0.4  # [m/s]
APART: Final = 0.05  # [m]; two rods nearer than that are one place


class BoardOn(BaseModel):
    """A planer board on a line: which of the stock's, and the line from rod tip to it [m]."""

    kind: Annotated[str, Field(min_length=1, max_length=60)]
    line_m: float = Field(ge=3.0, le=150.0, allow_inf_nan=False)


class BoardKinds(BaseModel):
    """The planer boards of the stock, by name."""

    kinds: list[str]


class SpreadAsk(BaseModel):
    """What the log does not say of the lines out.

    Attributes
    ----------
    units : str
        Whose units the words are in.
    bottom_m : float or None
        How deep the water is [m], where that is to count.
    boards : dict of str to BoardOn
        Rods whose line goes out on a planer board; what is out by the log is then behind it.
    """

    units: SystemName = "us"
    bottom_m: float | None = Field(None, ge=0.5, le=300.0, allow_inf_nan=False)
    boards: Annotated[dict[str, BoardOn], Field(max_length=20)] = {}


class TurnFound(BaseModel):
    """How tight the boat may turn to one side.

    Attributes
    ----------
    side : str
        "port" or "starboard".
    radius_m, sure_radius_m : float or None
        The tightest that gets through by the best estimate, and nine times in ten [m]; None where
        none that was tried does.
    """

    side: Literal["port", "starboard"]
    radius_m: float | None
    sure_radius_m: float | None


class SpreadFound(BaseModel):
    """What becomes of the lines that are out.

    Attributes
    ----------
    verdict : str
        Straight on: "clear" (no tangles), "doubtful" or "fails".
    faults : list of str
        What goes wrong straight on, in words.
    turns : list of TurnFound
        The tightest turn to either side.
    rods : list of str
        The rods, by whose names their places are taken.
    speed_m_s : float
        The speed it was worked out for [m/s].
    """

    verdict: Literal["clear", "doubtful", "fails"]
    faults: list[str]
    turns: list[TurnFound]
    rods: list[str]
    speed_m_s: float


@router.get("/spread/boards")
def kinds() -> BoardKinds:
    """List the planer boards to choose from."""
    from towscope.spreads.reading import stock_boards

    return BoardKinds(kinds=list(stock_boards()))


@router.post("/spread", status_code=202)
def check(ask: SpreadAsk, here: Here) -> Job:
    """Begin to look whether the lines out tangle; the task's result is a `SpreadFound`."""
    plan = plan_of(here, ask.boards)
    system = SYSTEMS[ask.units]
    return here.jobs.start(
        "lines out", lambda progress: found(plan, ask.bottom_m, system, progress).model_dump()
    )


def plan_of(here: AppContext, boards: Mapping[str, BoardOn]) -> SpreadPlan:
    """Put the lines that are out together, each rod where its name says it stands.

    Raises
    ------
    InputError
        Where a board is on no line that is out, or cannot be on it.
    NoAnswer
        Where fewer than two lines are out, one of them can't be worked out, or two rods stand at
        the same place by their names.
    """
    from towscope.live.lines_out import lines_out
    from towscope.spreads.plan import Board, RodLine, SpreadPlan
    from towscope.spreads.reading import board_of
    from towscope.towing.tow import Setting

    day = here.store.last_day()
    outs, why = lines_out(here.store.day(day).out() if day is not None else {}, here.shelf())
    if why:
        rod, reason = next(iter(why.items()))
        raise NoAnswer(f"{rod}: {reason}")
    if len(outs) < 2:
        raise NoAnswer("fewer than two lines are out: nothing to tangle")
    if unknown := boards.keys() - {out.span.rod for out in outs}:
        raise ArgumentError("boards", f": {one_line(min(unknown), 40)}: no line is out on this rod")
    rods = []
    for out in outs:
        ahead, starboard, height = out.mount
        side = (starboard > 0.0) - (starboard < 0.0)
        on: Board | None = None
        if told := boards.get(out.span.rod):
            place = f"boards.{out.span.rod}"
            if not side:
                raise InputError(f"{place}: a board goes out to a side; this rod stands amidships")
            on = board_of({}, told.kind, told.line_m, height, place)
        line = RodLine(
            out.span.rod, side, ahead, starboard, height, out.span.rig, out.tow, out.let_out, on
        )
        if line.out * out.tow.counter_factor > out.tow.length:
            raise InputError(
                f"{out.span.rod}: {line.out:.1f} m of line in all, to the board and behind it; "
                f"the rig has {out.tow.length:.1f} m"
            )
        rods.append(line)
    for k, one in enumerate(rods):
        for other in rods[k + 1 :]:
            if abs(one.starboard - other.starboard) < APART:
                raise NoAnswer(
                    f"{one.name} and {other.name} stand at the same place by their names; expected "
                    'names such as "port", "port outside", "centre", "starboard"'
                )
    boat = here.live.run.boat if here.live is not None else None
    speed = boat.speed_m_s if boat is not None and boat.speed_m_s else None
    return SpreadPlan(Setting(speed if speed and speed >= SLOWEST else SPEED), tuple(rods))


def found(
    plan: SpreadPlan, bottom: float | None, system: System, progress: Progress
) -> SpreadFound:
    """Work it out: straight on, then the tightest turn to either side."""
    import numpy as np

    from towscope.sheets.spread import fault_words
    from towscope.spreads.answer import SpreadAnswer
    from towscope.spreads.judge import drawn, judge
    from towscope.spreads.order import Order
    from towscope.spreads.plan import HALF_TURN, Turn
    from towscope.spreads.tightest import tightest

    progress(0.05, "straight on")
    best, many = drawn(plan, None, DRAWS)
    verdict = judge(best, many, bottom)
    turns: list[TurnFound] = []
    sides: tuple[tuple[Literal["port", "starboard"], float], ...] = (
        ("port", -HALF_TURN), ("starboard", HALF_TURN),
    )  # fmt: skip
    for side, angle in sides:
        progress(0.2 + 0.4 * len(turns), f"turns to {side}")
        limit = tightest(plan, Turn(1.0, angle), bottom, DRAWS)
        turns.append(TurnFound(side=side, radius_m=limit.radius, sure_radius_m=limit.sure_radius))
    nothing = Order((), (), (), np.zeros((0, 0)), 0.0)
    answer = SpreadAnswer(plan, None, bottom, DRAWS, best, many, verdict, (), nothing, nothing, ())
    return SpreadFound(
        verdict=verdict.word,  # type: ignore[arg-type]
        faults=[fault_words(fault, answer, system) for fault in verdict.faults],
        turns=turns,
        rods=[rod.name for rod in plan.rods],
        speed_m_s=plan.speed,
    )
