"""Single changes tried by simulation: what to change where a spread does not get through.

Changes are single ones, of kinds that a crew can make: turn wider or the other way, more or less
line on one rod, a board nearer or further out, two rods' tackle exchanged, one line fetched in
before the turn, faster. Each is simulated by the best estimate; those that get through are ranked
by how much they change, and the first of each kind are simulated with draws.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from towscope.spreads.judge import Verdict, drawn, gets_through, judge
from towscope.spreads.plan import RodLine, SpreadPlan, Turn

SHARES = (0.9, 1.1, 0.8, 1.2, 0.65, 1.35, 0.5, 1.5)
FASTER = (1.1, 1.2, 1.35)
TIGHT = 1.03  # a wider turn is proposed with a little to spare
# What a change costs the crew, for ranking; a share of line changed by half costs 0.5.
EFFORT = {
    "wider": 0.2,
    "other-way": 0.15,
    "let-out": 0.1,
    "all-let-outs": 0.3,
    "board-line": 0.1,
    "exchange": 0.5,
    "fetch": 0.8,
    "faster": 0.3,
}
SHOWN = 4
MOST_TRIED = 80  # simulations of single changes; enough for six rods
HALF = 0.5  # what gets through in fewer draws than this is not proposed at all


@dataclass(frozen=True)
class SpreadChange:
    """One change to a spread, or to how it is turned.

    Attributes
    ----------
    kind : str
        "wider", "other-way", "let-out", "all-let-outs", "board-line", "exchange", "fetch" or
        "faster".
    rods : tuple of str
        Whose.
    before, after : float
        Of what is changed [m] or [m/s]: radius, let-out, board line, speed; of all let-outs the
        share.
    plan, turn : SpreadPlan, Turn or None
        The spread so changed, and its turn.
    verdict : Verdict
        What simulating it came to.
    effort : float
        How much of a change it is, for ranking.
    depths : tuple of (str, float, float)
        Rods whose lure then runs at another depth in the straight run: before and after [m].
    """

    kind: str
    rods: tuple[str, ...]
    before: float
    after: float
    plan: SpreadPlan
    turn: Turn | None
    verdict: Verdict
    effort: float
    depths: tuple[tuple[str, float, float], ...]


def advise(
    plan: SpreadPlan,
    turn: Turn | None,
    verdict: Verdict,
    *,
    bottom: float | None = None,
    draws: int = 1,
    widest: float | None = None,
) -> list[SpreadChange]:
    """Find single changes with which a spread that fails gets through.

    Parameters
    ----------
    plan, turn : SpreadPlan, Turn or None
        The spread, and how it is to be turned.
    verdict : Verdict
        What is wrong with it.
    bottom : float, optional
        Depth of the water [m].
    draws : int
        1 for the best estimate alone; more: changes that get through in nine draws of ten stand
        first, and those that do so in less than half are left out.
    widest : float, optional
        The tightest radius that gets through [m], where it is known; in nine draws of ten if
        there are draws.

    Returns
    -------
    list of SpreadChange
        The smallest changes first, one of each kind before a second of any; none where nothing
        that was tried does it.
    """
    found: list[SpreadChange] = []
    straight = {fate.name: fate.depth for fate in verdict.rods}
    tried = 0
    for kind, rods, before, after, new, new_turn, share in _tries(plan, turn, verdict, widest):
        if tried == MOST_TRIED:
            break
        if sum(c.kind == kind and c.rods == rods for c in found):
            continue  # a smaller change of the same thing does it
        tried += 1
        result = gets_through(new, new_turn, bottom)
        if result.faults:
            continue
        depths = tuple(
            (fate.name, straight[fate.name], fate.depth)
            for fate in result.rods
            if abs(fate.depth - straight[fate.name]) > 0.15
        )
        effort = EFFORT[kind] + share
        found.append(SpreadChange(kind, rods, before, after, new, new_turn, result, effort, depths))
    found.sort(key=lambda change: change.effort)
    first = [c for i, c in enumerate(found) if c.kind not in {d.kind for d in found[:i]}]
    ranked = first + [c for c in found if not any(c is d for d in first)]
    if draws == 1:
        return ranked[:SHOWN]
    kept: list[SpreadChange] = []
    for change in ranked[: 2 * SHOWN]:
        result = judge(*drawn(change.plan, change.turn, draws), bottom)
        if result.word != "fails" and result.chance >= HALF:
            kept.append(replace(change, verdict=result))
        if sum(c.verdict.clear for c in kept) == SHOWN:
            break
    kept.sort(key=lambda change: not change.verdict.clear)
    return kept[:SHOWN]


_Try = tuple[str, tuple[str, ...], float, float, SpreadPlan, Turn | None, float]


def _tries(
    plan: SpreadPlan, turn: Turn | None, verdict: Verdict, widest: float | None
) -> Iterator[_Try]:
    if turn is not None:
        if widest is not None and widest > turn.radius:
            radius = TIGHT * widest
            yield (
                "wider",
                (),
                turn.radius,
                radius,
                plan,
                turn.at(radius),
                radius / turn.radius - 1.0,
            )
        yield "other-way", (), turn.radius, turn.radius, plan, turn.other_way(), 0.0
    guilty = [
        plan.index(name)
        for name in dict.fromkeys(name for fault in verdict.faults for name in fault.rods)
    ]
    for i in guilty or range(len(plan.rods)):
        rod = plan.rods[i]
        for share in SHARES:
            changed = _with_let_out(rod, share * rod.let_out)
            if changed is not None:
                yield (
                    "let-out",
                    (rod.name,),
                    rod.let_out,
                    changed.let_out,
                    plan.with_rod(i, changed),
                    turn,
                    abs(share - 1.0),
                )
        for share in SHARES:
            if rod.board is None:
                break
            board = replace(rod.board, line=share * rod.board.line)
            changed = replace(rod, board=board)
            if board.line > rod.height + 2.0 and changed.spare >= 0.0:
                yield (
                    "board-line",
                    (rod.name,),
                    rod.board.line,
                    board.line,
                    plan.with_rod(i, changed),
                    turn,
                    abs(share - 1.0),
                )
        for j, other in enumerate(plan.rods):
            if i == j or (j in guilty and j < i) or _same(rod, other):
                continue
            one = replace(rod, rig=other.rig, tow=other.tow, let_out=other.let_out)
            two = replace(other, rig=rod.rig, tow=rod.tow, let_out=rod.let_out)
            if one.spare >= 0.0 and two.spare >= 0.0:
                yield (
                    "exchange",
                    (rod.name, other.name),
                    rod.let_out,
                    other.let_out,
                    plan.with_rod(i, one).with_rod(j, two),
                    turn,
                    0.0,
                )
        if len(plan.rods) > 1:
            yield "fetch", (rod.name,), rod.let_out, 0.0, plan.without(i), turn, 0.0
    if 1 < len(guilty) < len(plan.rods):
        fewer = plan
        for i in sorted(guilty, reverse=True):
            fewer = fewer.without(i)
        names = tuple(plan.rods[i].name for i in guilty)
        yield "fetch", names, 0.0, 0.0, fewer, turn, 0.3 * len(guilty)
    for share in (0.9, 0.8, 0.65, 0.5):
        all_changed = [_with_let_out(rod, share * rod.let_out) for rod in plan.rods]
        if None not in all_changed:
            rods = tuple(rod for rod in all_changed if rod is not None)
            yield (
                "all-let-outs",
                tuple(rod.name for rod in rods),
                1.0,
                share,
                replace(plan, rods=rods),
                turn,
                2.0 * (1.0 - share),
            )
    for share in FASTER:
        speed = share * plan.speed
        yield "faster", (), plan.speed, speed, plan.at_speed(speed), turn, share - 1.0


def _with_let_out(rod: RodLine, let_out: float) -> RodLine | None:
    """Give the rod with another let-out, if it has that line and its leader stays out."""
    changed = replace(rod, let_out=let_out)
    leader = float(rod.tow.pieces[0, 0]) if len(rod.tow.pieces) > 1 else 1.5
    return changed if let_out >= leader and changed.spare >= 0.0 else None


def _same(a: RodLine, b: RodLine) -> bool:
    return a.rig == b.rig and a.let_out == b.let_out
