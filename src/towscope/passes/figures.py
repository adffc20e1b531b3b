"""Planned passes as figures in SI: what command, app and library give of them, one form of it.

What nothing was planned for is None; places are degrees, WGS 84.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from typing_extensions import TypedDict

from towscope.arrays import Array
from towscope.passes.marks import Kind, globe, marks
from towscope.passes.passes import Pass, read_outs
from towscope.passes.steering import STEP

if TYPE_CHECKING:
    from towscope.geodesy import Place
    from towscope.passes.bottom_risk import BottomRisk

Pair = tuple[float, float]
TRACK_STEP: Final = 4.0  # [s]; between points of a track


class Todo(TypedDict):
    """One thing to do at one place: how far along, when, and the line and speed from there on."""

    kind: Kind
    run_m: float
    time_s: float
    boat_lat: float
    boat_lon: float
    let_out_m: float
    speed_m_s: float


class PassTrack(TypedDict):
    """Boat and lure along a pass, moment by moment."""

    time_s: list[float]
    boat_lat: list[float]
    boat_lon: list[float]
    speed_m_s: list[float]
    let_out_m: list[float]
    lure_lat: list[float]
    lure_lon: list[float]
    depth_m: list[float]
    height_m: list[float] | None


class Risk(TypedDict):
    """What may go wrong on a way: how likely lure or line hits bottom, how near it comes, where."""

    safe: bool
    bottom_hit: float
    least_off_bottom_m: float
    interval_90_m: Pair
    least_off_bottom_best_m: float
    least_off_bottom_at_whole_errors_m: float
    worst_lat: float
    worst_lon: float
    worst_run_m: float
    worst_hit: float
    draws: int
    doubts_90_m: dict[str, float]


class Round(TypedDict):
    """The way round to the next pass."""

    length_m: float
    radius_m: float
    first: str
    let_out_m: float
    speed_m_s: float
    risk: Risk | None
    track: PassTrack


class PassWhole(TypedDict):
    """One pass."""

    number: int
    length_m: float
    cut_m: float
    edge_depth_m: float
    heading_deg: float
    wind: str
    reason: str
    off_bottom_m: float
    lure_depth_m: Pair
    lure_height_m: Pair
    lure_off_line_m: float
    line_off_edge_m: float
    edge_known_to_m: float
    share_within_0_3_m: float
    let_out_m: Pair
    tightest_turn_m: float
    schedule: list[Todo]
    risk: Risk
    track: PassTrack
    round: Round | None


class PassFigures(TypedDict):
    """Passes on a lake; one with a bottom hit likelier than the limit is not called safe."""

    lake: str
    not_for_navigation: bool
    risk_limit: float
    passes: list[PassWhole]


class PlanFigures(PassFigures):
    """Passes on a lake, what was asked, and what was left out and why."""

    rig: str
    depth_m: float
    speed_m_s: float
    wind_from_deg: float
    wind_m_s: float
    left_out: list[str]


class PassBrief(TypedDict):
    """One pass, in short."""

    number: int
    length_m: float
    heading_deg: float
    minutes: float
    wind: str
    reason: str
    deeper_side: Literal["port", "starboard"]
    safe: bool
    bottom_hit: float


def brief(number: int, each: Pass, limit: float) -> PassBrief:
    """Give what a list of plans shows of a pass."""
    time = each.trial.passage.time
    return {
        "number": number,
        "length_m": each.trial.way.line.length,
        "heading_deg": each.stretch.heading,
        "minutes": float(time[-1] - time[0]) / 60.0,
        "wind": each.stretch.against_wind,
        "reason": each.stretch.reason,
        "deeper_side": each.stretch.deeper_side,
        "safe": each.risk.safe(limit),
        "bottom_hit": each.risk.hit,
    }


def figures(passes: list[Pass], place: Place, name: str, limit: float) -> PassFigures:
    """Give all figures of passes in SI."""
    return {
        "lake": name,
        "not_for_navigation": True,
        "risk_limit": limit,
        "passes": [_pass(number, each, place, limit) for number, each in enumerate(passes, 1)],
    }


def _pass(number: int, each: Pass, place: Place, limit: float) -> PassWhole:
    trial, stretch = each.trial, each.stretch
    mine = each.on_stretch
    outs = read_outs(trial)
    schedule: list[Todo] = []
    for mark in marks(each):
        ((lat, lon),) = globe(place, np.array([[mark.x, mark.y]]))
        schedule.append(
            {
                "kind": mark.kind,
                "run_m": round(mark.far, 1),
                "time_s": round(mark.time, 1),
                "boat_lat": lat,
                "boat_lon": lon,
                "let_out_m": round(mark.out, 3),
                "speed_m_s": round(mark.speed, 3),
            }
        )
    return {
        "number": number,
        "length_m": round(trial.way.line.length, 1),
        "cut_m": round(each.cut, 1),
        "edge_depth_m": stretch.depth,
        "heading_deg": round(stretch.heading, 1),
        "wind": stretch.against_wind,
        "reason": stretch.reason,
        "off_bottom_m": each.clearance,
        "lure_depth_m": each.depths,
        "lure_height_m": each.heights,
        "lure_off_line_m": trial.astray,
        "line_off_edge_m": stretch.off,
        "edge_known_to_m": stretch.across_sd,
        "share_within_0_3_m": each.within,
        "let_out_m": (float(outs[mine].min()), float(outs[mine].max())),
        "tightest_turn_m": trial.way.tightest,
        "schedule": schedule,
        "risk": _risk(each.risk, place, limit),
        "track": _track(trial.path, trial.passage.lure[0], outs, each.height, place),
        "round": None
        if each.link is None
        else {
            "length_m": each.link.choice.length,
            "radius_m": each.link.choice.radius,
            "first": each.link.choice.first,
            "let_out_m": each.link.choice.turn_out,
            "speed_m_s": each.link.choice.speed,
            "risk": None if each.link_risk is None else _risk(each.link_risk, place, limit),
            "track": _track(each.link.path, each.link.lure, each.link.out, None, place),
        },
    }


def _risk(risk: BottomRisk, place: Place, limit: float) -> Risk:
    ((lat, lon),) = globe(place, np.array([risk.worst]))
    return {
        "safe": risk.safe(limit),
        "bottom_hit": risk.hit,
        "least_off_bottom_m": risk.least[1],
        "interval_90_m": (risk.least[0], risk.least[2]),
        "least_off_bottom_best_m": risk.best,
        "least_off_bottom_at_whole_errors_m": risk.corners,
        "worst_lat": lat,
        "worst_lon": lon,
        "worst_run_m": risk.worst_at,
        "worst_hit": risk.worst_hit,
        "draws": risk.draws,
        "doubts_90_m": dict(risk.doubts),
    }


def _track(path: Array, lure: Array, out: Array, height: Array | None, place: Place) -> PassTrack:
    every = max(round(TRACK_STEP / STEP), 1)
    boat, at = globe(place, path[::every]), globe(place, lure[::every])
    return {
        "time_s": (np.arange(len(path))[::every] * STEP).tolist(),
        "boat_lat": [p[0] for p in boat],
        "boat_lon": [p[1] for p in boat],
        "speed_m_s": path[::every, 3].round(3).tolist(),
        "let_out_m": out[::every].round(2).tolist(),
        "lure_lat": [p[0] for p in at],
        "lure_lon": [p[1] for p in at],
        "depth_m": (-lure[::every, 2]).round(2).tolist(),
        "height_m": None if height is None else height[::every].round(2).tolist(),
    }
