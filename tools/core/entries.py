"""Kernels of the core that are given out to the app, by name."""

from __future__ import annotations

from typing import Any

from towscope.towing import moving_kernels, question_kernels, steady

ENTRIES: dict[str, Any] = {
    "sweep": steady.sweep,
    "let_out_for": question_kernels.let_out_for,
    "depth_of": question_kernels.depth_of,
    "where_at": question_kernels.where_at,
    "table": question_kernels.table,
    "travel": moving_kernels.travel,
    "bottom": moving_kernels.bottom,
}
