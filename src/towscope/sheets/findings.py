"""A calibration's findings as the JSON object that calibrate prints."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from towscope.calibration.findings import Findings
    from towscope.calibration.posterior import Posterior


def as_dict(found: Findings, posterior: Posterior, new: int, notes: list[str]) -> dict[str, Any]:
    """Give what readings come to for one rig as one object, SI, keys with their units.

    Parameters
    ----------
    found, posterior : Findings, Posterior
        What was found.
    new : int
        How many readings are new.
    notes : list of str
        What else is to be known.
    """
    lesson, change = found.lesson, found.change
    spread = posterior.z.std(0)
    return {
        "rig": found.rig,
        "lure": found.lure,
        "readings_new": new,
        "readings_of_rig": len(found.weighed),
        "readings_of_others": found.others,
        "color_length_m": found.color,
        "depth_per_color_at_2_mph_before_m": found.per_color_before[1],
        "depth_per_color_at_2_mph_before_90_m": found.per_color_before[::2],
        "depth_per_color_at_2_mph_m": found.per_color_after[1],
        "depth_per_color_at_2_mph_90_m": found.per_color_after[::2],
        "usual": [
            {
                "let_out_m": s.let_out, "speed_m_s": s.speed,
                "before_depth_m": s.before[1], "before_depth_90_m": s.before[::2],
                "depth_m": s.after[1], "depth_90_m": s.after[::2],
            }
            for s in found.usual
        ],
        "readings": [
            {
                "rig": r.reading.rig, "lure": r.reading.lure, "time_s": r.reading.time,
                "day": r.reading.day,
                "kind": r.reading.kind, "let_out_m": r.reading.let_out,
                "speed_m_s": r.reading.speed,
                "reading_depth_m": r.reading.depth, "error_m": r.reading.error,
                "depth_m": r.depth, "depth_90_m": r.depth_90,
                "wrong_probability": r.wrong, "pull_m": r.pull,
                "moving_ratio": r.reading.ratio, "where": r.reading.where,
            }
            for r in found.weighed
        ],
        "open": found.open,
        "next_reading": None if lesson is None else {
            "let_out_m": lesson.let_out, "speed_m_s": lesson.speed, "depth_m": lesson.depth,
            "half_width_m": lesson.half_width, "half_width_after_m": lesson.after,
        },
        "change": None if change is None else {
            "since": change.since or None, "odds": change.odds, "deeper_m": change.deeper,
        },
        "misfit": found.misfit,
        "figures": [
            {
                "name": f.name, "mean": float(posterior.x[:, j].mean()),
                "sd": float(posterior.x[:, j].std()), "stated_sd": f.sd,
                "unsure_ratio": float(spread[j]),
            }
            for j, f in enumerate(posterior.problem.figures)
        ],
        "notes": notes,
    }  # fmt: skip
