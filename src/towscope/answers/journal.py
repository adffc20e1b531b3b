"""A journal to be written to and asked: what it is told and what it answers.

>>> import towscope as ts
>>> with ts.open_journal() as journal:
...     _ = journal.log("out port rig demo 170 ft")
...     journal.log("catch port 21.5in released walleye").words
['catch port: walleye 21.5 in, released, about 3.9 lb']
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Self

from towscope import arguments
from towscope.answers.journal_forms import (
    ClockSet,
    DayReport,
    Effort,
    Exported,
    JournalDay,
    Logged,
    RescuedAll,
    TakenIn,
    Units,
)
from towscope.effort import bands, fished
from towscope.effort.effort import RUNNING_M_S
from towscope.effort.timeline import DayTimeline, Light, entry_figures, timeline
from towscope.errors import ArgumentError, InputError, NoAnswer, one_line
from towscope.files import writable, write_whole
from towscope.fish import likely_weight, species_named
from towscope.journal.describe import describe
from towscope.journal.device import device_name
from towscope.journal.opening import open_store
from towscope.journal.store import DayRow, Store, Unusable
from towscope.journal.times import begin_of, day_at, parse_day
from towscope.units import shown_units
from towscope.words import feet

if TYPE_CHECKING:
    from towscope.effort.depths import Depths
    from towscope.effort.stint import Stint
    from towscope.journal.entry_writer import EntryWriter
    from towscope.journal.replay import StandingEntries
    from towscope.pattern.answers import NextAnswer, PatternAnswer
    from towscope.tackle.shelf import Shelf

Text = str | float
Tackle = str | Path | Iterable[str | Path]
SLOWEST_RUN: Final = 0.5  # [m/s]; lines are trolled faster
LEFT: Final = ("no-line", "unknown-rod", "clock")  # checks that a clock set right may leave


class Journal:
    """A journal that can be written to and asked; `towscope.open_journal` opens one.

    Parameters
    ----------
    store : Store
        Where it is kept.
    tackle : path or iterable of path
        Tackle files laid over the stock and the crew's own.
    depths : Depths, optional
        The engine with the tackle, where it is at hand already.
    """

    def __init__(self, store: Store, *, tackle: Tackle = (), depths: Depths | None = None) -> None:
        self.store = store
        self._files = [tackle] if isinstance(tackle, (str, Path)) else list(tackle)
        self._depths = depths

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of it."""
        self.store.close()

    def __repr__(self) -> str:
        days = self.store.days()
        fish = sum(day.catches for day in days)
        return f"journal of {len(days)} day{'s' if len(days) != 1 else ''}, {fish} fish"

    @property
    def remarks(self) -> list[str]:
        """What the crew should know of how it was opened."""
        return self.store.remarks

    @property
    def unusable(self) -> tuple[Unusable, ...]:
        """What was passed over in it so far, because it cannot be used."""
        return self.store.unusable

    @cached_property
    def _shelf(self) -> Shelf:
        from towscope.tackle import load

        return load([Path(file) for file in self._files])

    @property
    def depths(self) -> Depths:
        """The engine, as effort asks it for the tackle aboard."""
        if self._depths is None:
            from towscope.calibration.calibrated_rig import depths_of

            self._depths = depths_of(self._shelf)
        return self._depths

    # -- writing -------------------------------------------------------------------------------

    def log(
        self,
        words: str | Sequence[str] = "",
        *,
        at: str = "",
        day: str = "",
        lat: float | None = None,
        lon: float | None = None,
        anyway: bool = False,
        **named: str,
    ) -> Logged:
        """Log what just happened, in a few words: ``"catch port 21.5in released"``.

        Parameters
        ----------
        words : str or sequence of str
            One line, or several, each a line: all are added, or none.
        at : str
            When: ``"10 min ago"``, ``"7:40am"``; a time may stand in the words as well.
        day : str
            The day that times are of, written down afterwards.
        lat, lon : float, optional
            Where [degrees, WGS 84].
        anyway : bool
            Log what does not fit, flagged.
        **named
            ``rig``, ``lure``, ``colour``, ``out`` and ``by`` as words of their own.

        Raises
        ------
        InputError
            Naming the word that cannot be read, or what does not fit.
        """
        from towscope.journal.entry_writer import Crew, written

        more = [part for name, value in named.items() if value for part in (name, value)]
        lines = [" ".join([words, *more]).strip()] if isinstance(words, str) else list(words)
        now, zone = fished.present()
        crew = Crew(
            now,
            zone,
            lambda: self._shelf,
            shown_units(),
            species_named,
            likely_weight,
            (lat, lon),
            anyway,
        )
        writer = written(self.store, crew.on_day(day) if day else crew, lines, at)
        self._copied(writer)
        return Logged(
            [entry_figures(e, writer.state_with(e)) for e in writer.made],
            writer.remarks,
            [writer.words(e) for e in writer.made],
        )

    def _copied(self, writer: EntryWriter) -> None:
        from towscope.journal.copies import copy_if_due

        if self.store.path is not None:
            copy_if_due(self.store.path, day_at(writer.now))

    def set_clock(
        self, device: str, *, ahead: Text = "", behind: Text = "", day: str = "today"
    ) -> ClockSet:
        """Say how wrong a device's clock was on a day; its entries of that day move accordingly.

        Parameters
        ----------
        device : str
            Whose clock.
        ahead, behind : str or float
            How far it ran ahead, or behind [s]: one of them.
        day : str
            On which day.

        Raises
        ------
        InputError
            Where the device has no entry of that day, or no clock is so wrong.
        """
        from towscope.journal.events import read_event
        from towscope.journal.ids import new_id

        if (ahead == "") == (behind == ""):
            raise ArgumentError("ahead", " or `behind`: expected one of them, and by how much")
        name, given, way = ("ahead", ahead, 1) if ahead != "" else ("behind", behind, -1)
        seconds = way * arguments.quantity(given, "time", name)
        if not 1 <= abs(seconds) <= 172800:
            raise InputError("a clock is wrong by seconds or hours; expected at most 48 h")
        now, zone = fished.present()
        on = parse_day(day, day_at(now))
        since = begin_of(on, now.tzinfo)
        seen = {event.device for event in self.store.raw_day(on.isoformat())}
        if device not in seen:
            names = ", ".join(sorted(seen)) or "none"
            raise InputError(f'no entry of "{one_line(device, 40)}" on {on}; devices then: {names}')
        body: dict[str, Any] = {
            "id": new_id(),
            "device": device_name(),
            "kind": "clock",
            "at": now.replace(microsecond=0).isoformat(),
            "of": device,
            "ahead_s": seconds,
            "since": since.isoformat(),
            "until": (since + timedelta(days=1, seconds=-1)).isoformat(),
        }
        event = read_event(body | ({"zone": zone} if zone else {}))
        self.store.append([event])
        checks = self.store.day(on.isoformat()).checks
        return ClockSet([entry_figures(event)], [m.text for m in checks if m.code in LEFT])

    def take(self, path: str | Path) -> TakenIn:
        """Take in what another device or program wrote; the same file twice adds nothing.

        Parameters
        ----------
        path : str or Path
            What `export` wrote, or a track: GPX, NMEA 0183, a table.
        """
        from towscope.boat.read import read_fixes
        from towscope.journal.exchange import take

        zone = fished.present()[0].tzinfo or UTC
        found = take(self.store, Path(path), device=device_name(), zone=zone, read=read_fixes)
        return TakenIn(
            str(path), found.events, found.new_events, found.points, found.new_points,
            found.remarks,
        )  # fmt: skip

    # -- reading -------------------------------------------------------------------------------

    def days(self) -> list[DayRow]:
        """List the days there are, latest first."""
        return self.store.days()

    @property
    def entries(self) -> list[dict[str, Any]]:
        """All entries as they stand, undone ones left out and corrected ones right."""
        from towscope.journal.replay import settle

        standing = settle((event for _, event in self.store.events()), check=False)
        return [entry_figures(event) for event in standing.events]

    def date_of(self, day: str = "") -> str:
        """Give the date that is meant: "today", "2026-08-14"; today or the last day without one."""
        now = fished.present()[0]
        if day and day != "last":
            return parse_day(day, day_at(now)).isoformat()
        return self.store.last_day(now) or day_at(now).isoformat()

    def _standing(self, day: str) -> tuple[str, StandingEntries]:
        on = self.date_of(day)
        found = self.store.day(on)
        if not found.events:
            raise NoAnswer(
                f"nothing was logged on {on}; `towscope day list` shows the days there are"
            )
        return on, found

    def day(self, day: str = "") -> JournalDay:
        """Show a day's entries as they stand, with the checks on those that do not fit.

        Parameters
        ----------
        day : str
            As `date_of` reads it.

        Raises
        ------
        NoAnswer
            Where nothing was logged.
        """
        on, standing = self._standing(day)
        shown = shown_units()
        return JournalDay(
            on,
            [entry_figures(event, standing) for event in standing.events],
            [{"code": m.code, "text": m.text} for m in standing.checks if not m.event],
            list(standing.undone),
            self.store.points(on),
            [describe(event, shown, likely_weight) for event in standing.events],
        )

    def timeline(self, day: str = "") -> DayTimeline:
        """Give a day as figures: what each rod had out and when, what came of it, the weather.

        Parameters
        ----------
        day : str
            As `date_of` reads it.

        Raises
        ------
        NoAnswer
            Where nothing was logged.
        """
        on, standing = self._standing(day)
        live = self._live(on, standing)
        track = self.store.track(on)
        told = timeline(standing, track, depth_at=self.depths, until_s=live, weigh=likely_weight)
        plain_day = self.day(on)
        return {
            **told,
            "day": on,
            "live": live is not None,
            "light": _light(on, standing, told["spots"]),
            "entries": plain_day.entries,
            "day_checks": plain_day.day_checks,
            "undone": plain_day.undone,
            "track_points": plain_day.track_points,
        }

    def _live(self, day: str, standing: StandingEntries) -> float | None:
        """Give the present, unix time [s], where a day's lines are still out."""
        now = fished.present()[0]
        out = day_at(now).isoformat() == day and bool(standing.out())
        return now.timestamp() if out else None

    def stints(
        self,
        *,
        first: date | None = None,
        last: date | None = None,
        running: Text = RUNNING_M_S,
    ) -> list[Stint]:
        """Give the effort: one lure fished unchanged on one rod for one span of time, each.

        Parameters
        ----------
        first, last : date, optional
            Only from and to these days.
        running : str or float
            Above this speed the boat is not fishing [m/s].
        """
        limit = arguments.quantity(running, "speed", "running")
        if limit < SLOWEST_RUN:
            raise ArgumentError(
                "running", f' "{running}": lines are trolled faster; expected 3 mph or more'
            )
        return fished.effort_of(self.store, self.depths, first=first, last=last, running_m_s=limit)

    def effort(
        self,
        day: str = "",
        by: str | Sequence[str] = "lure,colour",
        *,
        season: bool = False,
        since: str = "",
        running: Text = RUNNING_M_S,
    ) -> Effort:
        """Count rod-hours: what was fished, how deep and for how long, running left out.

        Parameters
        ----------
        day : str
            As `date_of` reads it.
        by : str or sequence of str
            Add up by any of rod, rig, lure, body, colour, day, sky, size, depth, speed, temp, hour.
        season : bool
            Over all days there are.
        since : str
            Over all days from this one on.
        running : str or float
            Above this speed the boat is not fishing [m/s].

        Raises
        ------
        NoAnswer
            Where no line was out.
        """
        from towscope.effort.effort import total

        asked = bands.named(by)
        now = fished.present()[0]
        first = last = None
        if since:
            first = parse_day(since, day_at(now))
        elif not season:
            first = last = date.fromisoformat(self.date_of(day))
        rows = self.stints(first=first, last=last, running=running)
        if not rows:
            raise NoAnswer("no line was out then, so there is no effort to count")
        names = [bands.BY[name][0] for name in asked]
        steps = {bands.BY[n][0]: wide for n in asked if (wide := bands.width(n, feet=feet()))}
        groups = total(rows, names, steps)
        if names[0] in steps or names[0] == "size_m":  # a scale reads best in its order
            groups.sort(key=lambda g: (g[names[0]] is None, g[names[0]] or 0.0))
        hours = sum(row.hours for row in rows)
        return Effort(hours, names, steps, groups, [_stint(row, now) for row in rows])

    def pattern(
        self,
        by: str | Sequence[str] = "lure,size,colour,depth",
        *,
        since: str | date = "",
        until: str | date = "",
        **more: Any,
    ) -> PatternAnswer:
        """Say what works: catch rates with 90 % intervals, comparisons, what can't be known.

        Parameters
        ----------
        by : str or sequence of str
            What to compare: lure, body, size, colour, depth, speed, light, temperature, hour,
            place, rod.
        since, until : str or date
            From and to these days, themselves included.
        **more
            As `pattern_of` takes it.

        Raises
        ------
        NoAnswer
            Where no line was in the water.
        """
        from towscope.answers.journal_pattern import pattern_of, span_of

        first, last = span_of(since, until)
        return pattern_of(self.stints(first=first, last=last), by, **more)

    def next(self, *, aboard: str | Path | None = None, **more: Any) -> NextAnswer:
        """Say what each rod should run for the next half hour, and why.

        Parameters
        ----------
        aboard : path, optional
            Rods and lures (TOML with ``[aboard]``); else what the journal knows.
        **more
            As `next_of` takes it.

        Raises
        ------
        NoAnswer
            Where no rod is known.
        """
        from towscope.answers.journal_pattern import next_of

        effort, day = self.stints(), self.store.last_day()
        return next_of(
            effort, aboard=aboard, standing=self.store.day(day) if day else None,
            now_s=fished.live_now(effort), **more,
        )  # fmt: skip

    def report(
        self, day: str = "", *, units: Units | None = None, map_px: float = 760.0
    ) -> DayReport:
        """Give a day's report with map, timeline and tables.

        Parameters
        ----------
        day : str
            As `date_of` reads it.
        units : {"us", "metric"}, optional
            In which.
        map_px : float
            Width of the map [px].

        Raises
        ------
        NoAnswer
            Where nothing was logged.
        """
        from towscope.sheets.daypage import day_page

        on, standing = self._standing(day)
        shown = shown_units(units)
        page = day_page(
            on, standing, self.store.track(on), shown, depth_at=self.depths,
            until_s=self._live(on, standing), map_px=map_px,
        )  # fmt: skip
        return DayReport(on, page, "us" if shown.name == "us" else "metric")

    def export(self, path: str | Path, day: str = "") -> Exported:
        """Write the journal, or a day, for another device, a spreadsheet, a map or a plotter.

        Parameters
        ----------
        path : str or Path
            ``.jsonl`` and ``.csv`` take all days, ``.geojson`` and ``.gpx`` one.
        day : str
            Only this day.

        Raises
        ------
        NoAnswer
            Where there is nothing to write.
        """
        from towscope.journal import exchange

        file = writable(path, exchange.SUFFIXES)
        on = self.date_of(day) if day else None
        text, on = exchange.written(
            self.store, file.suffix.lower(), on, self.date_of, shown_units(), device_name()
        )
        data = text.encode()
        write_whole(file, data)
        return Exported(str(file), on or "all days", len(data))


def _stint(row: Stint, now: datetime) -> dict[str, Any]:
    from towscope.effort.effort import as_plain

    body = dict(as_plain(row))
    for name in ("start", "end"):  # a unix time needs more digits than a measure keeps
        moment = datetime.fromtimestamp(body.pop(f"{name}_s"), now.tzinfo)
        body[name] = moment.isoformat("T", "seconds")
    return body


def _light(day: str, standing: StandingEntries, spots: Sequence[Any]) -> Light | None:
    """Give the sun for where the first entry with a place was made."""
    from towscope.sky import sun

    at = next(((s["lat"], s["lon"]) for s in spots if s["lat"] is not None), None)
    at = at or next(((e.lat, e.lon) for e in standing.events if e.lat is not None), None)
    if at is None or at[1] is None:
        return None
    zone = standing.events[0].at.tzinfo or UTC
    found = sun.day(at[0], at[1], date.fromisoformat(day), zone)
    return {
        "sunrise_s": found.sunrise.timestamp() if found.sunrise else None,
        "sunset_s": found.sunset.timestamp() if found.sunset else None,
        "low_light": [(a.timestamp(), b.timestamp()) for a, b in found.low_light],
    }


def open_journal(
    path: str | Path | None = None, *, tackle: Tackle = (), create: bool = True
) -> Journal:
    """Open a journal, making it or bringing it up to date where needed.

    Parameters
    ----------
    path : str or Path, optional
        A file, or a URL such as ``postgresql://boat@host/journal``; the user's own without it.
    tackle : path or iterable of path
        Tackle files laid over the stock and the crew's own.
    create : bool
        Whether to make one where there is none.

    Raises
    ------
    InputError
        Where it cannot be opened, is no journal, or was made by a later version.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.open_journal()
    journal of 0 days, 0 fish
    """
    return Journal(open_store(path, create=create), tackle=tackle)


def rescue_journal(
    damaged: Sequence[str | Path] = (), path: str | Path | None = None
) -> RescuedAll:
    """Save what can be read of damaged journals, and of their copies, in a journal.

    Parameters
    ----------
    damaged : sequence of path
        The damaged ones; without one, the user's own.
    path : str or Path, optional
        The journal to save it in; the user's own without it.

    Raises
    ------
    NoAnswer
        Where there is nothing to rescue.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.rescue_journal()
    Traceback (most recent call last):
    towscope.errors.NoAnswer: ... is whole: there is nothing to rescue
    """
    from towscope.journal import rescue as rescues
    from towscope.journal.copies import copies_of
    from towscope.journal.opening import default_place

    place = str(path or default_place())
    if "://" in place:
        raise InputError("a journal in PostgreSQL is restored from its own backup: see pg_restore")
    own, files = Path(place).expanduser(), [Path(file) for file in damaged]
    for file in files:
        if not file.is_file():
            raise InputError(f"{one_line(file, 120)}: no such file; expected a damaged journal")
    moved: list[Path] = []
    if own.exists() and not rescues.is_sound(own):
        moved.append(rescues.set_aside(own, fished.present()[0]))
    sources = [*files, *moved] if files else [*rescues.damaged_beside(own)]
    copies = copies_of(own)
    if not sources and not (copies and not own.exists()):
        raise NoAnswer(f"{one_line(own, 120)} is whole: there is nothing to rescue")
    with open_store(own) as store:
        done = [
            rescues.rescue(source, store, copies if number == 0 else ())
            for number, source in enumerate(sources or copies[:1])
        ]
    return RescuedAll(
        str(own),
        sum(each.entries for each in done),
        sum(each.stretches for each in done),
        sum(each.unread for each in done),
        [line for each in done for line in each.left_out],
        [str(source) for each in done for source in each.sources],
        done,
    )
