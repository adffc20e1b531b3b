"""A rig calibrated from readings: bottom hits, misses and sonar marks weighed together, saved."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towscope import arguments
from towscope.answer_forms import AnswerForms
from towscope.boat.clean import clean
from towscope.boat.read import read_fixes
from towscope.boat.spoken import mount_of
from towscope.calibration import store
from towscope.calibration.calibrate import WeighedReadings, any_of, later, tows_of, weigh
from towscope.calibration.readings import Reading, load_readings
from towscope.calibration.readings_from_journal import bottom_of, journal_readings, place_readings
from towscope.errors import ArgumentError, InputError
from towscope.formats.plain import plain
from towscope.tackle import load
from towscope.units import shown_units

if TYPE_CHECKING:
    from collections.abc import Iterable

    from towscope.calibration.findings import Findings
    from towscope.journal.store import Store
    from towscope.tackle.shelf import Shelf
    from towscope.units import System

JOURNAL = "journal"


@dataclass(frozen=True, repr=False)
class CalibrateAnswer(AnswerForms):
    """What the readings come to for one rig; nothing is saved until `save` is called.

    Attributes
    ----------
    weighed : WeighedReadings
        All readings weighed together, and what they come to.
    readings_new : int
        How many of them are new.
    notes : tuple of str
        What else is to be known.
    """

    weighed: WeighedReadings = field(repr=False)
    readings_new: int
    notes: tuple[str, ...] = ()

    @property
    def found(self) -> Findings:
        """What the readings come to for the rig."""
        return self.weighed.found

    def save(self) -> Path:
        """Save it in place of what was saved before: every later answer uses it; give the file."""
        return self.weighed.keep()

    def __repr__(self) -> str:
        """Say it in one line, in the units of ``TOWSCOPE_UNITS``."""
        found, shown = self.found, shown_units()
        low, middle, high = (shown.show(v, "length", 1) for v in found.per_color_after)
        each = "each color" if found.coded else f"each {shown.show(found.color, 'length')}"
        count = len(found.weighed)
        readings = "1 reading" if count == 1 else f"{count} readings"
        return f"{found.rig}, {readings}: {each} brings {middle} ({low} to {high}) at 2 mph"

    def _shown(self, units: System) -> list[tuple[str, str]]:
        return [
            (
                f"{units.show(s.let_out, 'length')} at {units.show(s.speed, 'speed')}",
                f"{units.show(s.after[1], 'length')} ({units.range(*s.after[::2], 'length')}) down",
            )
            for s in self.found.usual
        ]

    def to_dict(self) -> dict[str, Any]:
        """Give it as the JSON object that ``towscope calibrate --json`` prints."""
        found, posterior = self.found, self.weighed.posterior
        lesson, change = found.lesson, found.change
        unsure = posterior.z.std(0)
        told = {
            "rig": found.rig,
            "lure": found.lure,
            "readings_new": self.readings_new,
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
                    "unsure_ratio": float(unsure[j]),
                }
                for j, f in enumerate(posterior.problem.figures)
            ],
            "notes": list(self.notes),
        }  # fmt: skip
        made: dict[str, Any] = plain(told)
        return made


def calibrate(
    rig: str,
    readings: str | Path | None = None,
    *,
    since: str | None = None,
    track: str | Path | None = None,
    lake: str | None = None,
    tip: str | None = None,
    deepest: str | float = "60 ft",
    tackle: str | Path | Iterable[str | Path] = (),
    journal: Store | None = None,
) -> CalibrateAnswer:
    r"""Learn from bottom hits how a line and lure run; nothing is saved until `save` is called.

    Parameters
    ----------
    rig : str
        The rig's name.
    readings : str or path, optional
        A table ``time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind[,error [ft]]``, or
        ``"journal"`` for the bottom hits in yours; left out, those that are saved are shown.
    since : str, optional
        Leave out this rig's readings before a date: ``"2026-08-20"``.
    track : str or path, optional
        The boat's track: where the lure was, and how it had turned.
    lake : str, optional
        A saved lake: its bottom under the lure, with a track or the journal.
    tip : str, optional
        Rod tip from where fixes are taken: ``"5 ft to port, 8 ft aft"``.
    deepest : str or float
        Deepest bottom that you could take a reading over next [m].
    tackle : path or iterable of path
        Tackle files laid over the stock and the crew's own.
    journal : Store, optional
        The journal that is open already.

    Raises
    ------
    InputError
        Where an argument or a reading is wrong, or there is no reading.

    Examples
    --------
    Three bottom hits, all deeper than the line is stated to run:

    >>> import tempfile
    >>> from pathlib import Path
    >>> import towscope as ts
    >>> folder = tempfile.TemporaryDirectory()
    >>> table = Path(folder.name) / "readings.csv"
    >>> _ = table.write_text(
    ...     "let_out [ft],speed [mph],bottom_depth [ft],kind\n"
    ...     "120,2,26,bottom hit\n170,2,37,bottom hit\n170,1.7,43,bottom hit\n"
    ... )
    >>> learnt = ts.calibrate("demo", table)
    >>> learnt.to_dict()["readings_of_rig"]
    3
    >>> folder.cleanup()
    """
    if lake is not None and track is None and readings != JOURNAL:
        raise ArgumentError("lake", " needs `track`: without it nobody knows where the lure was")
    deepest_m = arguments.quantity(deepest, "length", "deepest")
    files = [tackle] if isinstance(tackle, (str, Path)) else list(tackle)
    shelf = load([Path(file) for file in files])
    shelf.rig(rig)
    old = store.readings_of(store.load())
    new: list[Reading] = []
    notes: list[str] = []
    if readings is not None:
        new, notes = _new(readings, rig, shelf, track, lake, tip, journal)
    if since is not None:
        old, new = (later(group, rig, since) for group in (old, new))
    every = store.join(old, new)
    if not every or (readings is None and not any_of(every, rig, shelf)):
        raise InputError(
            f"no saved readings of {rig}; expected a table of readings, or the journal"
        )
    weighed = weigh(rig, every, shelf, deepest=deepest_m)
    return CalibrateAnswer(weighed, len(new), (*notes, *weighed.notes))


def _new(
    readings: str | Path,
    rig: str,
    shelf: Shelf,
    track: str | Path | None,
    lake: str | None,
    tip: str | None,
    journal: Store | None,
) -> tuple[list[Reading], list[str]]:
    tow_of = tows_of(shelf)
    bottom = None if lake is None else bottom_of(lake)
    with arguments.of_argument("tip"):
        mount = (0.0, 0.0) if tip is None else mount_of(tip)
    if readings == JOURNAL and not Path(readings).exists():
        if journal is not None:
            return journal_readings(journal, rig, shelf, tow_of, bottom, mount)
        from towscope.journal.opening import open_store

        with open_store(None, create=False) as opened:
            return journal_readings(opened, rig, shelf, tow_of, bottom, mount)
    read = load_readings(Path(readings), rig, tow_of, speeds_known=track is None)
    named = [replace(m, lure=m.lure or shelf.rig(m.rig).lure) for m in read]
    if track is None:
        return named, []
    way = clean(read_fixes(Path(track)))
    return place_readings(named, way, tow_of, bottom, mount), list(way.repairs)
