"""An answer about one rig as data: the JSON object that letout, depth and speed print."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from towscope.tackle.counting import count

if TYPE_CHECKING:
    from towscope.towing.questions import Answer
    from towscope.towing.tow import Setting, Tow


def as_dict(rig: str, tow: Tow, answer: Answer, setting: Setting) -> dict[str, Any]:
    """Give an answer as one object, SI, keys with their units.

    Parameters
    ----------
    rig : str
        Name of the rig.
    tow : Tow
        It, as it was asked.
    answer : Answer
        What came of it.
    setting : Setting
        How it was run.
    """
    from towscope.towing.questions import FEET, MPH

    where = answer.where
    return {
        "rig": rig,
        "depth_m": where.depth,
        "depth_90_m": answer.depth_90,
        "speed_m_s": setting.speed,
        "let_out_m": where.let_out,
        "let_out_90_m": answer.let_out_90,
        "counter_m": where.let_out / tow.counter_factor,
        "colors_out": count(tow, where.let_out).colors,
        "layback_m": where.layback,
        "side_m": where.side,
        "deepest_m": where.deepest,
        "tension_n": where.tension,
        "strength_share": where.share,
        "depth_per_0_1_mph_m": answer.per_speed * 0.1 * MPH,
        "depth_per_10_ft_line_m": answer.per_line * 10.0 * FEET,
        "answered_share": answer.within,
        "water_density_kg_m3": float(tow.medium[0]),
        "calibrated": calibrated_by(tow),
        "current": [{"depth_m": d, "along_m_s": a, "across_m_s": c} for d, a, c in setting.current],
    }


def calibrated_by(tow: Tow) -> dict[str, object] | None:
    """Say what an answer is calibrated by; None where it is not."""
    if tow.learnt is None:
        return None
    return {
        "readings": tow.learnt.readings,
        "since": tow.learnt.since or None,
        "current_of_today": bool(tow.learnt.along.size),
    }
