"""Counts and remarks on what a file brought into the journal."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class FileTaken:
    """What a file brought.

    Attributes
    ----------
    events, new_events, points, new_points : int
        Entries and track points in it, and how many of them were new here.
    remarks : list of str
        What the crew should know.
    """

    events: int = 0
    new_events: int = 0
    points: int = 0
    new_points: int = 0
    remarks: list[str] = field(default_factory=list)
