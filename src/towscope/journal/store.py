"""Append-only store in SQLite or PostgreSQL: an entry once acknowledged is never lost.

SQLite by default: write-ahead log, foreign keys on, every acknowledged entry on the disk before the
acknowledgement (``synchronous = FULL``). Any PostgreSQL by URL. Entries and track are only ever
added; the database itself refuses to change or remove a row.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Self, TypeVar

import sqlalchemy as sa

from towscope.clock import time_s
from towscope.errors import InputError, one_line
from towscope.journal.database import DamagedError, bring_up, inode, plainly, sqlite
from towscope.journal.events import AnyEvent, Clock, Correct, Undo, stored_event
from towscope.journal.overnight import LATEST_S, NEAR_S, as_came, stayed_out
from towscope.journal.replay import Check, LineSpan, StandingEntries, settle_day
from towscope.journal.schema import ENTRY_ROW, STRETCH_ROW, block, effort, entry, stretch
from towscope.journal.times import begin_of, check_day, day_at, local_zone

if TYPE_CHECKING:
    from sqlalchemy.engine import Connection, Engine

    from towscope.journal.track import LoggedTrack

_anew: Final = threading.Lock()
T = TypeVar("T")
_LATEST: Final = 5  # of a day's last entries: one of them can be read
_CHUNK: Final = 400  # ids in one query: below every database's limit


@dataclass(frozen=True)
class DayRow:
    """One line of the list of days.

    Attributes
    ----------
    day : str
        Local date.
    entries : int
        Entries of that date, undone ones included.
    catches : int
        Catches among them.
    track_points : int
        Track points.
    """

    day: str
    entries: int
    catches: int
    track_points: int


@dataclass(frozen=True)
class Unusable:
    """Something in the store that this version cannot use: passed over by all that reads.

    Attributes
    ----------
    day : str
        The day it stands under.
    why : str
        What it is and why, in words.
    """

    day: str
    why: str


class Store:
    """A journal's store; open it with `open_store`.

    Attributes
    ----------
    path : Path or None
        Its file, where it is one.
    remarks : list of str
        What the crew should know of how it was opened: that it was damaged, what was rescued.
    """

    def __init__(self, engine: Engine, shown: str, path: Path | None) -> None:
        self._engine = engine
        self._shown = shown
        self._unusable: dict[str, Unusable] = {}
        self.path = path
        self.remarks: list[str] = []
        self._file = inode(path)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the store."""
        self._engine.dispose()

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with plainly(self._shown), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with plainly(self._shown), self._engine.connect() as connection:
            connection = connection.execution_options(towscope_write=True)
            with connection.begin():
                yield connection

    def _write(self, work: Callable[[Connection], T]) -> T:
        """Write; where the file turns out damaged, begin a new one out of it and write there."""
        try:
            with self._writing() as connection:
                return work(connection)
        except DamagedError:
            if self.path is None:
                raise
            self.begin_anew()
        with self._writing() as connection:
            return work(connection)

    def begin_anew(self) -> None:
        """Leave a damaged file for a new one that holds all that still reads; see `begin_anew`."""
        assert self.path is not None, "a server mends its own files"
        from towscope.journal.opening import begin_anew

        with _anew:
            if inode(self.path) == self._file:  # else somebody has done it already
                self.remarks += begin_anew(self.path)
            self._engine.dispose()
            self._engine = sqlite(self.path, full=True)
            bring_up(self._engine, self._shown, self.path)
            self._file = inode(self.path)

    # -- what cannot be used -------------------------------------------------------------------

    @property
    def unusable(self) -> tuple[Unusable, ...]:
        """What was passed over by all that was read through this store so far."""
        return tuple(self._unusable.values())

    def _usable(self, rows: Iterable[Any]) -> Iterator[AnyEvent]:
        """Read entries (id, day, line) back; what cannot be used is passed over, and named."""
        for name, day, line in rows:
            try:
                yield stored_event(line)
            except InputError as problem:
                why = f"entry {name[-6:]} cannot be used and is left out: {problem}"
                self._unusable[name] = Unusable(day, why)

    def _decoded(self, rows: Iterable[Any]) -> Iterator[tuple[str, str, LoggedTrack]]:
        """Read stretches (id, device, day, data) back; as `_usable`."""
        from towscope.journal.track import decode

        for name, device, day, data in rows:
            try:
                yield device, check_day(day), decode(bytes(data))
            except InputError as problem:
                why = f"a stretch of {device}'s track cannot be used and is left out: {problem}"
                self._unusable[name] = Unusable(day, why)

    # -- entries -------------------------------------------------------------------------------

    def append(self, events: Iterable[AnyEvent]) -> int:
        """Add entries, all or none; those already here are passed over.

        When this returns, they are on the disk.

        Parameters
        ----------
        events : iterable of AnyEvent
            The entries.

        Returns
        -------
        int
            How many were new.

        Raises
        ------
        InputError
            Where an entry differs from the one stored under its id, or the disk is full.
        """
        lines = _lines(events)
        if not lines:
            return 0
        return self._write(lambda connection: self._append(connection, lines))

    def take(
        self, events: Iterable[AnyEvent], pieces: Iterable[tuple[str, str, LoggedTrack]]
    ) -> tuple[int, int]:
        """Add another journal's entries and track in one go, all or none.

        Parameters
        ----------
        events : iterable of AnyEvent
            Its entries.
        pieces : iterable of (str, str, LoggedTrack)
            Its stretches of track: device, day, points.

        Returns
        -------
        (int, int)
            How many entries and how many points were new.
        """
        from towscope.journal.stretches import packed

        lines, parts = _lines(events), packed(pieces)
        return self._write(
            lambda connection: (self._append(connection, lines), self._add(connection, parts))
        )

    def _append(self, connection: Connection, lines: dict[str, tuple[AnyEvent, str]]) -> int:
        known: dict[str, str] = {}
        for ids in _chunks(list(lines)):
            rows = connection.execute(
                sa.select(entry.c.id, entry.c.line).where(entry.c.id.in_(ids))
            )
            known.update((row.id, row.line) for row in rows)
        for name, line in known.items():
            if line != lines[name][1]:
                raise InputError(
                    f"entry {name} differs from the one in the journal; "
                    "a damaged or altered file? nothing was taken from it"
                )
        new = [_row(event, line) for name, (event, line) in lines.items() if name not in known]
        if new:
            connection.execute(self._insert(entry), new)
        return len(new)

    def _insert(self, table: sa.Table) -> Any:
        if self._engine.dialect.name == "postgresql":
            from sqlalchemy.dialects.postgresql import insert as pg_insert

            return pg_insert(table).on_conflict_do_nothing()
        from sqlalchemy.dialects.sqlite import insert

        return insert(table).on_conflict_do_nothing()

    def events(self, since: int = 0) -> Iterator[tuple[int, AnyEvent]]:
        """Give every entry as it was made, in order of arrival, with its arrival number.

        Parameters
        ----------
        since : int
            Only those that arrived after this number: what another device does not have yet.
        """
        with self._reading() as connection:
            query = sa.select(entry.c.arrival, *ENTRY_ROW).order_by(entry.c.arrival)
            result = connection.execution_options(yield_per=5000).execute(
                query.where(entry.c.arrival > since)
            )
            for arrival, *row in result:
                for event in self._usable([row]):
                    yield arrival, event

    def lines_of(self, ids: Sequence[str]) -> dict[str, str]:
        """Give the entries of these ids that are here, word for word: id to its line of JSON."""
        found: dict[str, str] = {}
        with self._reading() as connection:
            for part in _chunks(ids):
                rows = connection.execute(
                    sa.select(entry.c.id, entry.c.line).where(entry.c.id.in_(part))
                )
                found.update((name, line) for name, line in rows)
        return found

    def mends_of(self, name: str) -> list[AnyEvent]:
        """Give the undos and corrections of an entry, and theirs."""
        found: dict[str, AnyEvent] = {}
        ask = [name]
        with self._reading() as connection:
            while ask:
                rows = connection.execute(
                    sa.select(*ENTRY_ROW).where(entry.c.target.in_(ask[:_CHUNK]))
                )
                fresh = {e.id: e for e in self._usable(rows) if e.id not in found}
                found.update(fresh)
                ask = [*ask[_CHUNK:], *fresh]
        return list(found.values())

    def raw_day(self, day: str) -> list[AnyEvent]:
        """Give the entries of a day as they were made, with all that mends them."""
        with self._reading() as connection:
            return self._raw_day(connection, day)

    def _raw_day(self, connection: Connection, day: str) -> list[AnyEvent]:
        clocks = self._clocks(connection)
        days = [day]
        here = date.fromisoformat(day)
        near = (here - timedelta(days=3), here + timedelta(days=3))
        if any(
            clock.since.date() <= near[1] and clock.until.date() >= near[0] for clock in clocks
        ):  # a clock may have put this day's entries under another date
            days = [(here + timedelta(days=n)).isoformat() for n in (-2, -1, 0, 1, 2)]
        rows = connection.execute(sa.select(*ENTRY_ROW).where(entry.c.day.in_(days)))
        found = {row.id: row for row in rows}
        moved = connection.execute(
            sa.select(entry.c.target).where(entry.c.moved_to.in_(days))
        ).scalars()
        fresh = [name for name in moved if name and name not in found]
        for part in _chunks(fresh):
            rows = connection.execute(sa.select(*ENTRY_ROW).where(entry.c.id.in_(part)))
            found.update((row.id, row) for row in rows)
        ask = list(found) + [clock.id for clock in clocks]
        while ask:
            mends: dict[str, Any] = {}
            for part in _chunks(ask):
                rows = connection.execute(sa.select(*ENTRY_ROW).where(entry.c.target.in_(part)))
                mends.update((row.id, row) for row in rows)
            ask = [name for name in mends if name not in found]
            found.update(mends)
        return [*self._usable(found.values()), *clocks]

    def _clocks(self, connection: Connection) -> list[Clock]:
        rows = connection.execute(sa.select(*ENTRY_ROW).where(entry.c.kind == "clock"))
        return [event for event in self._usable(rows) if isinstance(event, Clock)]

    def day(self, day: str, *, now_s: float | None = None) -> StandingEntries:
        """Give a day's entries as they stand, with the lines that were out as it began.

        Parameters
        ----------
        day : str
            Local date, ISO 8601.
        now_s : float, optional
            The present, unix time [s]: lines that were out shortly before the day began are out
            still, though nothing was entered since.
        """
        return self.settled(self.raw_day(day), day, now_s=now_s)

    def settled(
        self, raw: Sequence[AnyEvent], day: str, *, now_s: float | None = None
    ) -> StandingEntries:
        """Give a day's entries as they stand, of those read by `raw_day`; see `day`."""
        state = settle_day(raw, day, self.came(day, now_s=now_s), self._went(day))
        odd = [Check("", "unusable", each.why) for each in self.unusable if each.day == day]
        return replace(state, checks=(*state.checks, *odd)) if odd else state

    def came(self, day: str, *, now_s: float | None = None) -> tuple[LineSpan, ...]:
        """Give the lines that were out as a day began (see `towscope.journal.overnight`)."""
        before = _beside(day, -1)
        return as_came(self._went(before, now_s)) if before else ()

    def _went(self, day: str, now_s: float | None = None) -> tuple[LineSpan, ...]:
        """Give the lines that stayed out as a day ended."""
        after = _beside(day, 1)
        with self._reading() as connection:
            rows = connection.execute(
                sa.select(*ENTRY_ROW)
                .where(entry.c.day == day)
                .order_by(entry.c.at_us.desc())
                .limit(_LATEST)
            )
            last = next(iter(self._usable(rows)), None)
        if last is None or after is None:
            return ()
        border = begin_of(date.fromisoformat(after), last.at.tzinfo).timestamp()
        if border - last.at_s > LATEST_S:  # nearly every day: its lines came in long before three
            return ()
        return stayed_out(
            settle_day(self.raw_day(day), day, self.came(day)),
            settle_day(self.raw_day(after), after).events,
            border,
            track=self._crossed(day, after, border),
            now_s=now_s,
        )

    def _crossed(self, day: str, after: str, border_s: float) -> bool:
        """Say whether a track goes on from one day into the next."""
        with self._reading() as connection:
            end = connection.execute(
                sa.select(sa.func.max(stretch.c.end_us)).where(stretch.c.day == day)
            ).scalar()
            start = connection.execute(
                sa.select(sa.func.min(stretch.c.start_us)).where(stretch.c.day == after)
            ).scalar()
        if end is None or start is None:
            return False
        return bool(border_s - end / 1e6 < NEAR_S and start / 1e6 - border_s < NEAR_S)

    def days(self) -> list[DayRow]:
        """List the days there are, latest first."""
        with self._reading() as connection:
            counts: dict[str, list[int]] = {}
            caught = sa.func.sum(sa.case((entry.c.kind == "catch", 1), else_=0))
            mending = entry.c.kind.not_in(("undo", "correct", "clock"))
            rows = connection.execute(
                sa.select(entry.c.day, sa.func.count(), caught).where(mending).group_by(entry.c.day)
            )
            for name, number, fish in rows:
                counts[name] = [number, int(fish), 0]
            points = connection.execute(
                sa.select(stretch.c.day, sa.func.sum(stretch.c.points)).group_by(stretch.c.day)
            )
            for name, number in points:
                counts.setdefault(name, [0, 0, 0])[2] = int(number)
        return [
            DayRow(name, *counts[name]) for name in sorted(counts, reverse=True) if _is_day(name)
        ]

    def day_before(self, day: str) -> str | None:
        """Give the last day before this one that has entries."""
        with self._reading() as connection:
            while True:
                found = connection.execute(
                    sa.select(sa.func.max(entry.c.day)).where(entry.c.day < day)
                ).scalar()
                if found is None or _is_day(found):
                    return found
                day = found

    def last_day(self, now: datetime | None = None) -> str | None:
        """Give the latest day on which something stands.

        A day further ahead than tomorrow comes from a wrong clock, and counts only where there is
        no other; tomorrow it may be already where a phone's time zone is ahead of this machine's.

        Parameters
        ----------
        now : datetime, optional
            The present, with its zone; by this machine's clock without it.
        """
        today = day_at(datetime.fromtimestamp(time_s(), local_zone()[0]) if now is None else now)
        latest = (today + timedelta(days=1)).isoformat()
        return self._last_standing(latest) or self._last_standing("9999-12-31")

    def _last_standing(self, latest: str) -> str | None:
        other = entry.alias("other")
        taken_back = sa.exists().where(other.c.target == entry.c.id, other.c.kind == "undo")
        happened = entry.c.kind.not_in(("undo", "correct", "clock"))
        before = sa.and_(entry.c.day <= latest, happened)
        # most days hold an entry that nobody took back; only for others all has to be looked at
        with self._reading() as connection:
            days = connection.execute(
                sa.select(entry.c.day, sa.func.min(sa.case((taken_back, 1), else_=0)))
                .where(before)
                .group_by(entry.c.day)
                .order_by(entry.c.day.desc())
            ).all()
        for name, all_taken_back in days:
            if _is_day(name) and (not all_taken_back or self.day(name).events):
                return str(name)
        return None

    def latest(self, *, kinds: Sequence[str] | None = None, limit: int = 1) -> list[AnyEvent]:
        """Give the entries that arrived last, as they were made, latest first."""
        query = sa.select(*ENTRY_ROW).order_by(entry.c.arrival.desc()).limit(limit)
        if kinds:
            query = query.where(entry.c.kind.in_(kinds))
        with self._reading() as connection:
            return list(self._usable(connection.execute(query)))

    def find(self, tail: str) -> AnyEvent:
        """Give the entry whose id ends so, as it was made.

        Raises
        ------
        InputError
            Where there is none, or more than one.
        """
        clean = tail.strip().lower()
        if len(clean) < 4 or set(clean) - set("0123456789abcdef-"):
            raise InputError(f'"{one_line(tail, 40)}" is no entry; expected the last 6 of its id')
        with self._reading() as connection:
            rows = connection.execute(
                sa.select(*ENTRY_ROW).where(entry.c.id.like(f"%{clean}")).limit(2)
            ).all()
            found = list(self._usable(rows))
        if rows and not found:
            raise InputError(self._unusable[rows[0].id].why)
        if len(found) != 1:
            many = "more than one entry" if found else "no entry"
            raise InputError(f'{many} has an id that ends in "{clean}"')
        return found[0]

    # -- track ---------------------------------------------------------------------------------

    def add_track(self, track: LoggedTrack, device: str, zone: tzinfo = UTC) -> int:
        """Add a stretch of the boat's track; what is already here is passed over.

        Parameters
        ----------
        track : LoggedTrack
            The points.
        device : str
            What recorded them.
        zone : tzinfo
            Where one day on the water parts from the next (see `day_at`).

        Returns
        -------
        int
            How many points were new.
        """
        from towscope.journal.stretches import cut, packed

        parts = packed((device, day, piece) for day, piece in cut(track, zone))
        if not parts:
            return 0
        return self._write(lambda connection: self._add(connection, parts))

    def _add(self, connection: Connection, parts: list[tuple[dict[str, Any], bytes]]) -> int:
        known: set[str] = set()
        for ids in _chunks([row["id"] for row, _ in parts]):
            known.update(
                connection.execute(sa.select(stretch.c.id).where(stretch.c.id.in_(ids))).scalars()
            )
        new = 0
        for row, data in parts:
            if row["id"] in known:
                continue
            known.add(row["id"])
            arrival = connection.execute(
                sa.insert(stretch).values(**row).returning(stretch.c.arrival)
            ).scalar_one()
            connection.execute(sa.insert(block).values(stretch=arrival, data=data))
            new += int(row["points"])
        return new

    def stretches(self, day: str | None = None) -> Iterator[tuple[str, str, LoggedTrack]]:
        """Give every stretch of track, or a day's, as (device, day, points)."""
        query = sa.select(*STRETCH_ROW).join(block, stretch.c.arrival == block.c.stretch)
        if day is not None:
            query = query.where(stretch.c.day == day)
        with self._reading() as connection:
            yield from self._decoded(
                connection.execution_options(yield_per=50).execute(
                    query.order_by(stretch.c.day, stretch.c.start_us, stretch.c.id)
                )
            )

    def points(self, day: str) -> int:
        """Count a day's track points, all devices together."""
        with self._reading() as connection:
            found = connection.execute(
                sa.select(sa.func.sum(stretch.c.points)).where(stretch.c.day == day)
            ).scalar()
        return int(found or 0)

    def track(self, day: str, device: str | None = None) -> LoggedTrack:
        """Give the boat's track of a day.

        Parameters
        ----------
        day : str
            Local date.
        device : str, optional
            What recorded it; without it the device with most points, for two receivers on one boat
            do not agree to the metre and must not be mixed.
        """
        from towscope.journal.track import join

        with self._reading() as connection:
            if device is None:
                device = connection.execute(
                    sa.select(stretch.c.device)
                    .where(stretch.c.day == day)
                    .group_by(stretch.c.device)
                    .order_by(sa.func.sum(stretch.c.points).desc(), stretch.c.device)
                    .limit(1)
                ).scalar()
            rows = connection.execute(
                sa.select(*STRETCH_ROW)
                .join(block, stretch.c.arrival == block.c.stretch)
                .where(stretch.c.day == day, stretch.c.device == device)
                .order_by(stretch.c.start_us)
            )
            return join([track for _, _, track in self._decoded(rows)])

    # -- effort, kept --------------------------------------------------------------------------

    def fingerprints(self) -> dict[str, str]:
        """Give, for each day, a short text that changes when anything of that day does."""
        with self._reading() as connection:
            first = sa.func.count(), sa.func.max(entry.c.arrival)
            marks: dict[str, list[object]] = {
                name: [number, last]
                for name, number, last in connection.execute(
                    sa.select(entry.c.day, *first)
                    .where(entry.c.kind.not_in(("undo", "correct", "clock")))
                    .group_by(entry.c.day)
                )
            }
            tracks = connection.execute(
                sa.select(stretch.c.day, sa.func.count(), sa.func.max(stretch.c.arrival)).group_by(
                    stretch.c.day
                )
            )
            for name, number, last in tracks:
                marks.setdefault(name, []).append(("track", number, last))
            other = entry.alias("other")
            mends = connection.execute(
                sa.select(
                    entry.c.id,
                    entry.c.arrival,
                    entry.c.target,
                    entry.c.moved_to,
                    other.c.day,
                    other.c.kind,
                )
                .outerjoin(other, other.c.id == entry.c.target)
                .where(entry.c.target.is_not(None))
                .order_by(entry.c.arrival)
            ).all()
            clocks = self._clocks(connection)
        by_id = {row.id: row for row in mends}
        everywhere: list[object] = []
        for row in mends:
            root, steps = row, 0
            while root.target in by_id and steps < 100:
                root, steps = by_id[root.target], steps + 1
            touched = {day for day in (root.day, root.moved_to, row.moved_to) if day}
            if root.kind == "clock":
                everywhere.append(row.arrival)
            for name in touched:
                marks.setdefault(name, []).append(row.arrival)
        for clock in clocks:
            low = (clock.since.date() - timedelta(days=3)).isoformat()
            high = (clock.until.date() + timedelta(days=3)).isoformat()
            for name, items in marks.items():
                if low <= name <= high:
                    items.append(clock.id)
        # a line that stays out past the border makes one day depend on the next
        return {
            name: hashlib.sha256(
                repr(
                    (items, everywhere, *(marks.get(_beside(name, n) or "") for n in (-1, 1)))
                ).encode()
            ).hexdigest()[:32]
            for name, items in marks.items()
            if _is_day(name)
        }

    def kept_effort(self) -> dict[str, tuple[str, str]]:
        """Give what was kept of effort: day to (what it was made from, stints as JSON)."""
        with self._reading() as connection:
            rows = connection.execute(sa.select(effort.c.day, effort.c.made_from, effort.c.stints))
            return {day: (made_from, stints) for day, made_from, stints in rows}

    def keep_effort(self, rows: dict[str, tuple[str, str]]) -> None:
        """Keep effort once computed; what cannot be kept is only computed again."""
        if not rows:
            return
        with self._writing() as connection:
            for days in _chunks(list(rows)):
                connection.execute(sa.delete(effort).where(effort.c.day.in_(days)))
            connection.execute(
                sa.insert(effort),
                [{"day": d, "made_from": m, "stints": s} for d, (m, s) in rows.items()],
            )


def _beside(day: str, days: int) -> str | None:
    """Give the day so many days off; None where the calendar or the text has none."""
    try:
        return (date.fromisoformat(day) + timedelta(days=days)).isoformat()
    except (ValueError, OverflowError):
        return None


def _lines(events: Iterable[AnyEvent]) -> dict[str, tuple[AnyEvent, str]]:
    lines: dict[str, tuple[AnyEvent, str]] = {}
    for event in events:
        line = event.line()
        if lines.setdefault(event.id, (event, line))[1] != line:
            raise InputError(f"two different entries carry the id {event.id}")
    return lines


def _row(event: AnyEvent, line: str) -> dict[str, Any]:
    return {
        "id": event.id,
        "day": event.day,
        "at_us": round(event.at_s * 1e6),
        "kind": event.kind,
        "device": event.device,
        "target": event.target if isinstance(event, (Undo, Correct)) else None,
        "moved_to": event.moved_to if isinstance(event, Correct) else None,
        "line": line,
    }


def _is_day(name: str) -> bool:
    try:
        return bool(check_day(name))
    except InputError:
        return False


def _chunks(items: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(items), _CHUNK):
        yield items[start : start + _CHUNK]
