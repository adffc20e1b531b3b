"""Forms of a journal's answers: entries, a day, effort, a report, what was written or taken in."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from towscope.answer_forms import AnswerForms, frame
from towscope.effort.timeline import CheckOn
from towscope.files import writable, write_whole
from towscope.units import SYSTEMS

if TYPE_CHECKING:
    import pandas as pd

    from towscope.journal.rescue import Rescued
    from towscope.sheets.daypage import DayPage

Units = Literal["us", "metric"]


@dataclass(frozen=True, repr=False)
class Logged(AnswerForms):
    """What was added to the journal.

    Attributes
    ----------
    added : list of dict
        The entries, with their checks.
    remarks : list of str
        What the crew should know of how they were read.
    """

    added: list[dict[str, Any]]
    remarks: list[str]
    words: list[str] = field(default_factory=list, metadata={"json": False})

    @property
    def lines(self) -> list[str]:
        """What was understood, with checks and remarks, a line each."""
        out = []
        for entry, words in zip(self.added, self.words, strict=True):
            at = datetime.fromisoformat(entry["at"])
            out.append(f"{at:%H:%M}  {words}  [{entry['id'][-6:]}]")
            out += [f"       Check: {check['text']}" for check in entry.get("checks", ())]
        return out + [f"       {remark}" for remark in self.remarks]

    def __repr__(self) -> str:
        return "\n".join(line.partition("  [")[0] for line in self.lines)


@dataclass(frozen=True, repr=False)
class JournalDay(AnswerForms):
    """A day's entries as they stand.

    Attributes
    ----------
    day : str
        Its date.
    entries : list of dict
        The entries, with the checks on those that do not fit.
    day_checks : list of CheckOn
        What is odd about the day.
    undone : list of str
        Ids of entries taken back.
    track_points : int
        Points of the boat's track.
    """

    day: str
    entries: list[dict[str, Any]]
    day_checks: list[CheckOn]
    undone: list[str]
    track_points: int
    words: list[str] = field(default_factory=list, metadata={"json": False})

    @property
    def lines(self) -> list[str]:
        """The day in words, a line for each entry."""
        shown = Logged(self.entries, [], self.words).lines
        shown += [f"Check: {check['text']}" for check in self.day_checks]
        back = f"{len(self.undone)} taken back; " if self.undone else ""
        return [*shown, f"{back}{self.track_points:,} track points"]

    def to_pandas(self) -> pd.DataFrame:
        """Give it to pandas, one row for each entry; pandas must be installed."""
        return frame(self.entries)

    def __repr__(self) -> str:
        return "\n".join([self.day, *self.lines])


@dataclass(frozen=True, repr=False)
class Effort(AnswerForms):
    """Rod-hours: what was fished, how deep and for how long, running left out.

    Attributes
    ----------
    hours : float
        Rod-hours in all [h].
    by : list of str
        What they are added up by.
    bands : dict of str to float
        Width of the bands that figures are put in, SI.
    groups : list of dict
        One for each combination: hours, catches, missed strikes, mean depth.
    stints : list of dict
        The effort itself, one lure fished unchanged for one span each.
    """

    hours: float
    by: list[str]
    bands: dict[str, float]
    groups: list[dict[str, Any]]
    stints: list[dict[str, Any]]

    def to_pandas(self) -> pd.DataFrame:
        """Give it to pandas, one row for each group; pandas must be installed."""
        return frame(self.groups)

    def __repr__(self) -> str:
        fish = sum(group["catches"] for group in self.groups)
        return f"{self.hours:.1f} rod-hours, {fish} fish"


@dataclass(frozen=True, repr=False)
class DayReport:
    """A day's report: map, timeline and tables, to be written as one file.

    Attributes
    ----------
    day : str
        Its date.
    page : DayPage
        All that it shows, as plain text and drawings.
    units : {"us", "metric"}
        In which; they choose the paper too.
    """

    day: str
    page: DayPage
    units: Units

    @property
    def summary(self) -> str:
        """The day in one sentence."""
        return self.page["lead"]

    def to_html(self) -> str:
        """Write it as one HTML file that asks for nothing else."""
        from towscope.sheets.daypage import to_html

        return to_html(self.page)

    def to_pdf(self) -> bytes:
        """Set it as a PDF."""
        from towscope.sheets.daypage import to_pdf

        return to_pdf(self.page, SYSTEMS[self.units])

    def save(self, path: str | Path) -> Path:
        """Write it: ``.html`` or ``.pdf``."""
        file = writable(path, (".html", ".pdf"))
        pdf = file.suffix.lower() == ".pdf"
        write_whole(file, self.to_pdf() if pdf else self.to_html().encode())
        return file

    def __repr__(self) -> str:
        return f"{self.page['title']}: {self.summary}"

    def _repr_html_(self) -> str:
        return self.to_html()


@dataclass(frozen=True)
class Exported(AnswerForms):
    """What was written: the file, which days, and how much."""

    file: str
    days: str
    bytes: int


@dataclass(frozen=True)
class TakenIn(AnswerForms):
    """What a file brought: entries and track points in it, how many were new, what to know."""

    file: str
    entries: int
    new_entries: int
    track_points: int
    new_track_points: int
    remarks: list[str]


@dataclass(frozen=True)
class ClockSet(AnswerForms):
    """A device's clock set right: the entry that says so, and the checks that it leaves."""

    added: list[dict[str, Any]]
    checks_left: list[str]


@dataclass(frozen=True)
class RescuedAll(AnswerForms):
    """What was saved of damaged journals, and in which journal it is now."""

    journal: str
    entries: int
    stretches: int
    unread_rows: int
    left_out: list[str]
    sources: list[str]
    each: list[Rescued] = field(default_factory=list, metadata={"json": False})
