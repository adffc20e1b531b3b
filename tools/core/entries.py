"""Kernels of the core that are given out to the app and to Python, by name."""

from __future__ import annotations

from typing import Any

from towscope import water
from towscope.boat import filter_steps, smooth
from towscope.towing import (
    draw_kernels,
    lookahead_kernels,
    moving_kernels,
    question_kernels,
    rating_kernels,
    search_kernels,
    settling_kernels,
    steady,
)

ENTRIES: dict[str, Any] = {
    "water_density": water.density_at,
    "water_viscosity": water.viscosity_at,
    "weight_of_soaked": water.weight_of_soaked,
    "shifted": draw_kernels.shifted,
    "dive_area": rating_kernels.dive_area,
    "sweep": steady.sweep,
    "settle": steady.settle,
    "reach": steady.reach,
    "shape": steady.shape,
    "let_out_for": question_kernels.let_out_for,
    "depth_of": question_kernels.depth_of,
    "where_at": question_kernels.where_at,
    "table": question_kernels.table,
    "line": question_kernels.line,
    "speed_for": search_kernels.speed_for,
    "deepest": search_kernels.deepest,
    "speed_that_reaches": search_kernels.speed_that_reaches,
    "knots_of": settling_kernels.knots_of,
    "lay_out": settling_kernels.lay_out,
    "set_going": settling_kernels.set_going,
    "boat_path": lookahead_kernels.boat_path,
    "tip_paths": lookahead_kernels.tip_paths,
    "lead_tips": lookahead_kernels.lead_tips,
    "line_out": lookahead_kernels.line_out,
    "nearest_bottom": lookahead_kernels.nearest_bottom,
    "travel": moving_kernels.travel,
    "expected_after": filter_steps.expected_after,
    "with_place": filter_steps.with_place,
    "with_velocity": filter_steps.with_velocity,
    "smooth_back": smooth.smooth_back,
    "bottom": moving_kernels.bottom,
}
