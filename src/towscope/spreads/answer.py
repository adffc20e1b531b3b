"""The whole answer about a spread, put together."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from towscope.answer_forms import AnswerForms
from towscope.formats.plain import plain
from towscope.spreads.advise import SpreadChange, advise
from towscope.spreads.judge import ROUGH, SimulatedRun, Verdict, judge, simulate
from towscope.spreads.order import Order, orders
from towscope.spreads.plan import HALF_TURN, SpreadPlan, Turn
from towscope.spreads.tightest import Tightest, tightest
from towscope.tackle.counting import count
from towscope.units import shown_units

if TYPE_CHECKING:
    from towscope.units import System

FEW = 12
"""Draws in the searches, where each try is a simulation of its own."""


@dataclass(frozen=True, repr=False)
class SpreadAnswer(AnswerForms):
    """All about a spread.

    Attributes
    ----------
    plan, turn, bottom, draws : SpreadPlan, Turn or None, float or None, int
        What was asked.
    best, many : SimulatedRun, SimulatedRun or None
        The run by the best estimate, and with draws.
    verdict : Verdict
        What it comes to.
    tightest : tuple of Tightest
        The tightest turn: to the side that was asked for, or to both.
    setting, fetching : Order
        The order to set and to fetch the lines in.
    changes : tuple of SpreadChange
        What gets it through where it does not.
    """

    plan: SpreadPlan
    turn: Turn | None
    bottom: float | None
    draws: int
    best: SimulatedRun
    many: SimulatedRun | None
    verdict: Verdict
    tightest: tuple[Tightest, ...]
    setting: Order
    fetching: Order
    changes: tuple[SpreadChange, ...]

    def __repr__(self) -> str:
        """Say the verdict in one line, in the units of ``TOWSCOPE_UNITS``."""
        shown, plan = shown_units(), self.plan
        how = "straight on"
        if self.turn is not None:
            how = f"a turn of {shown.show(self.turn.radius, 'length')} to {self.turn.side}"
        verdict = {"clear": "no tangles", "doubtful": "may tangle"}.get(self.verdict.word, "fails")
        return f"{len(plan.rods)} lines at {shown.show(plan.speed, 'speed')}, {how}: {verdict}"

    def _shown(self, units: System) -> list[tuple[str, str]]:
        return [
            (
                rod.name,
                f"{rod.rig}, {units.show(rod.let_out, 'length')} out, "
                f"{units.show(fate.depth, 'length')} down",
            )
            for rod, fate in zip(self.plan.rods, self.verdict.rods, strict=True)
        ]

    def to_dict(self) -> dict[str, Any]:
        """Give it as the JSON object that ``towscope spread --json`` prints."""
        plan, verdict = self.plan, self.verdict
        made: dict[str, Any] = plain(
            {
                "verdict": verdict.word,
                "gets_through_share": verdict.chance,
                "draws": self.draws,
                "speed_m_s": plan.speed,
                "apart_m": plan.apart,
                "bottom_m": self.bottom,
                "turn": _turn(self.turn),
                "faults": [_fault(fault) for fault in verdict.faults],
                "pairs": [_pair(pair) for pair in verdict.pairs],
                "rods": [
                    {**_placed(self, i), **_fate(fate)} for i, fate in enumerate(verdict.rods)
                ],
                "tightest_turn": [_tightest(limit) for limit in self.tightest],
                "order_to_set": _order(self.setting),
                "order_to_fetch": _order(self.fetching),
                "changes": [_change(change) for change in self.changes],
                "rods_per_person": "not checked: local rules limit the rods for each person",
            }
        )
        return made


def ask(
    plan: SpreadPlan, turn: Turn | None = None, *, bottom: float | None = None, draws: int = 1
) -> SpreadAnswer:
    """Ask all about a spread.

    Parameters
    ----------
    plan : SpreadPlan
        The spread.
    turn : Turn, optional
        How it is to be turned; a straight run if left out.
    bottom : float, optional
        Depth of the water [m].
    draws : int
        Draws of what is not sure; 1 for the best estimate alone.

    Returns
    -------
    SpreadAnswer
        All of it.
    """
    best = simulate(plan, turn)
    many = simulate(plan, turn, draws=draws, fineness=ROUGH) if draws > 1 else None
    verdict = judge(best, many, bottom)
    setting, fetching = orders(plan)
    few = min(draws, FEW)
    turns = [turn] if turn is not None else [Turn(1.0, -HALF_TURN), Turn(1.0, HALF_TURN)]
    limits = tuple(tightest(plan, each, bottom, few) for each in turns)
    changes: tuple[SpreadChange, ...] = ()
    if not verdict.clear:
        wide = (limits[0].sure_radius or limits[0].radius) if turn is not None else None
        changes = tuple(advise(plan, turn, verdict, bottom=bottom, draws=few, widest=wide))
    return SpreadAnswer(
        plan, turn, bottom, draws, best, many, verdict, limits, setting, fetching, changes
    )


def _turn(turn: Turn | None) -> dict[str, Any] | None:
    if turn is None:
        return None
    return {
        "radius_m": turn.radius,
        "side": turn.side,
        "through_deg": math.degrees(abs(turn.through)),
    }


def _fault(fault: Any) -> dict[str, Any]:
    names = {
        "tangle": "distance_m",
        "near": "distance_m",
        "bottom": "off_bottom_m",
        "sunk": "share_of_buoyancy",
        "pull": "share_of_strength",
    }
    return {
        "kind": fault.kind,
        "rods": fault.rods,
        names[fault.kind]: fault.amount,
        "time_s": fault.time,
    }


def _pair(pair: Any) -> dict[str, Any]:
    return {
        "rods": (pair.a, pair.b),
        "nearest_m": pair.apart,
        "nearest_90_m": pair.apart_90,
        "time_s": pair.time,
        "parts": (pair.part_a, pair.part_b),
        "part_depths_m": (pair.depth_a, pair.depth_b),
        "too_near_share": pair.too_near,
        "tangle_share": pair.tangling,
        "straight_nearest_m": pair.straight,
        "crossings_from_above": [
            {"begin_s": begin, "end_s": end, "least_height_m": height}
            for begin, end, height in pair.crossings
        ],
    }


def _placed(answer: SpreadAnswer, index: int) -> dict[str, Any]:
    rod = answer.plan.rods[index]
    placed: dict[str, Any] = {
        "name": rod.name,
        "side": ("port", "stern", "starboard")[rod.side + 1],
        "rig": rod.rig,
        "let_out_m": rod.let_out,
        "colors_out": count(rod.tow, rod.let_out).colors,
        "board": None,
    }
    if rod.board is not None:
        placed["board"] = {"kind": rod.board.kind, "line_m": rod.board.line}
    return placed


def _fate(fate: Any) -> dict[str, Any]:
    told = asdict(fate)
    names = {
        "depth": "depth_m",
        "depth_90": "depth_90_m",
        "shallowest": "shallowest_m",
        "deepest": "deepest_m",
        "shallowest_90": "shallowest_90_m",
        "deepest_90": "deepest_90_m",
        "line_deepest": "line_deepest_m",
        "clearance": "off_bottom_m",
        "hits_bottom": "hits_bottom_share",
        "pull": "pull_n",
        "pull_time": "pull_time_s",
        "straight_pull": "straight_pull_n",
        "share": "strength_share",
        "layback": "layback_m",
        "board_out": "board_out_m",
        "board_aft": "board_aft_m",
        "board_slowest": "board_slowest_m_s",
        "board_fastest": "board_fastest_m_s",
        "board_stalls": "board_stalls_s",
        "board_load": "board_load_share",
    }
    return {new: told[old] for old, new in names.items()}


def _tightest(limit: Tightest) -> dict[str, Any]:
    return {
        "side": limit.turn.side,
        "radius_m": limit.radius,
        "sure_radius_m": limit.sure_radius,
        "limited_by": limit.limit,
        "rods": limit.rods,
        "tightest_tried_gets_through": limit.open_ended,
    }


def _order(order: Order) -> dict[str, Any]:
    return {
        "rods": order.names,
        "reasons": [
            {"kind": r.kind, "other": r.other or None, "amount_m": r.amount} for r in order.reasons
        ],
        "works": order.works,
        "clashes": [
            {"moved": moved, "out": out, "nearest_m": near} for moved, out, near in order.clashes
        ],
        "time_s": order.seconds,
    }


def _change(change: SpreadChange) -> dict[str, Any]:
    suffix = {"faster": "m_s", "all-let-outs": "share"}.get(change.kind, "m")
    return {
        "kind": change.kind,
        "rods": change.rods,
        f"before_{suffix}": change.before,
        f"after_{suffix}": change.after,
        "verdict": change.verdict.word,
        "gets_through_share": change.verdict.chance,
        "turn": _turn(change.turn),
        "depths": [
            {"rod": name, "before_m": before, "after_m": after}
            for name, before, after in change.depths
        ],
    }
