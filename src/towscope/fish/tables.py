"""All that is known of fish as one JSON object: the app's pages answer from it without a server."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from towscope.fish.answers import WORDS, species
from towscope.fish.findings import (
    DEEP_M,
    FINDINGS,
    HOOKS_CAUTION,
    HOT_C,
    HURT,
    SUMMARIES,
    WHERE,
    Finding,
)
from towscope.fish.saying import KEEPING, LIMIT_FAULTS, WEIGHING
from towscope.fish.weight import CLASSES, POSSIBLE, USUAL, find_species, longest
from towscope.retold import retold


def tables(cautions: Sequence[str] = ()) -> dict[str, Any]:
    """Give species, findings and sentences; open ends are null, texts told in feet and in metres.

    `cautions` follow the one on hooks.

    >>> sorted(tables())
    ['findings', 'keeping', 'limit_faults', 'release', 'species', 'weighing']
    """
    return {
        "species": [
            {**one.to_dict(), "longest_m": _open(longest(find_species(one.name)))}
            for one in species()
        ],
        "weighing": {
            "usual": USUAL,
            "possible": POSSIBLE,
            "classes": CLASSES,
            "words": [(_open(limit), word) for limit, word in WORDS],
            "said": WEIGHING,
        },
        "keeping": KEEPING,
        "limit_faults": LIMIT_FAULTS,
        "findings": [_finding(one) for one in FINDINGS],
        "release": {
            "summaries": SUMMARIES,
            "where": WHERE,
            "deep_m": DEEP_M,
            "hot_c": HOT_C,
            "hurt": HURT,
            "cautions": [HOOKS_CAUTION, *cautions],
        },
    }


def _finding(one: Finding) -> dict[str, Any]:
    """Write a finding down without what it leaves open."""
    told = {key: value for key, value in asdict(one).items() if value not in ("", (), None, 0)}
    told["says"] = one.says
    for key in ("bled", "under_ice"):
        if getattr(one, key) is not None:
            told[key] = getattr(one, key)
    for key in ("depth_m", "surface_temp_c"):
        if key in told:
            told[key] = [_open(end) for end in told[key]]
    if one.reason:
        told["reason"] = {name: retold(one.reason, name) for name in ("us", "metric")}
    return told


def _open(end: float) -> float | None:
    return end if math.isfinite(end) else None
