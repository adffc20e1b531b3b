"""The made-up day laid out for the app: a lake, some days gone by, and one that is playing now.

Nothing of it touches what the user keeps: it is laid in a folder of its own, which `TOWSCOPE_HOME`
must name while the app runs.
"""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

import numpy as np

from towscope import __version__, clock
from towscope.demo.day import DEVICE, FIRST, demo_day
from towscope.journal.events import AnyEvent, read_event
from towscope.journal.ids import new_id
from towscope.journal.opening import open_store
from towscope.journal.times import day_at, local_zone
from towscope.journal.track import LoggedTrack

BEGIN_S: Final = 7990.0  # [s] into the made-up day: all lines out, a turn near a rise to come
END_S: Final = 12_900.0  # [s]; lines come in after that
DAYS_BEFORE: Final = (1, 2, 4, 7)


@dataclass(frozen=True)
class Playing:
    """The day that is playing.

    Attributes
    ----------
    track : LoggedTrack
        The boat's way, times as they fall today; what lies after `now_s` is yet to come.
    now_s : float
        Where it begins to play, unix time [s].
    home : Path
        The folder it is laid in.
    lake : str
        Name of the lake.
    """

    track: LoggedTrack
    now_s: float
    home: Path
    lake: str


def lay_out(home: Path, now: datetime | None = None) -> Playing:
    """Lay the made-up days out in a folder, the last of them playing now.

    Parameters
    ----------
    home : Path
        An empty folder, which `TOWSCOPE_HOME` names.
    now : datetime, optional
        When it begins to play; the clock's time if left out.

    Returns
    -------
    Playing
        What is to be played.
    """
    zone = local_zone()[0]
    now = clock.now() if now is None else now
    here = now.astimezone(zone)
    lake = _lay_lake(home)
    playing = demo_day()
    shift = now.timestamp() - (float(playing.track.t_s[0]) + BEGIN_S)
    today = day_at(here)
    with open_store(home / "journal.sqlite") as store:
        for back in DAYS_BEFORE:
            day = demo_day(FIRST - timedelta(days=back))
            put = (today - timedelta(days=back) - day.day).days * 86_400.0
            store.append(_moved(day.events, put, np.inf))
            store.add_track(_shifted(day.track, put), DEVICE, zone)
        store.append(_moved(playing.events, shift, now.timestamp()))
        track = _shifted(playing.track, shift)
        gone = track.between(float(track.t_s[0]), now.timestamp())
        store.add_track(gone, DEVICE, zone)
    return Playing(track, now.timestamp(), home, lake)


def _shifted(track: LoggedTrack, by: float) -> LoggedTrack:
    return LoggedTrack(
        track.t_s + by,
        track.lat,
        track.lon,
        track.speed_m_s,
        track.depth_m,
        track.surface_temp_c,
    )


def _moved(events: tuple[AnyEvent, ...], by: float, latest: float) -> list[AnyEvent]:
    """Give the entries up to a moment at other times, under names made then."""
    zone = local_zone()[0]
    names: dict[str, str] = {}
    moved = []
    after: str | None = None
    for event in sorted(events, key=lambda each: each.id):
        at = event.at_s + by
        if at > latest:
            continue
        after = names[event.id] = new_id(after=after, now_s=max(event.made_s + by, at))
        told = event.model_dump(mode="json", exclude_none=True)
        told.update(id=after, at=datetime.fromtimestamp(at, zone).isoformat())
        told.pop("zone", None)
        if (target := told.get("target")) is not None:
            if target not in names:
                continue
            told["target"] = names[target]
        moved.append(read_event(told))
    return moved


def _lay_lake(home: Path) -> str:
    """Build the made-up lake, or take it from where it was kept when last built."""
    from platformdirs import user_cache_path

    from towscope.bed import bed, cleaning, gridding, store
    from towscope.demo import long_slate

    code = b"".join(
        Path(str(m.__file__)).read_bytes() for m in (long_slate, bed, cleaning, gridding)
    )
    name = hashlib.sha256(code + __version__.encode()).hexdigest()[:16]
    kept = user_cache_path("towscope", appauthor=False) / "made-up-lake" / name
    there = home / "lakes" / store.slug(long_slate.NAME)
    if (kept / "lake.json").is_file():
        shutil.copytree(kept, there)
        return long_slate.NAME
    _build_lake()
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(dir=kept.parent))
        shutil.copytree(there, beside, dirs_exist_ok=True)
        beside.replace(kept)
    except OSError:  # it costs only time: somebody else kept it, or the disk is full
        pass
    return long_slate.NAME


def _build_lake() -> None:
    from towscope.bed import store
    from towscope.bed.bed import build
    from towscope.bed.cleaning import clean
    from towscope.bed.reading import read
    from towscope.bed.soundings import FileOptions
    from towscope.demo import long_slate

    with tempfile.TemporaryDirectory(prefix="towscope-") as folder:
        log = Path(folder) / "long-slate.csv"
        log.write_text(long_slate.log_csv())
        cleaned = clean([read(log, FileOptions())])
    made = build(cleaned.latitude, cleaned.longitude, cleaned.depth)
    store.save(long_slate.NAME, made, {"sources": ["long-slate.csv"], "notes": list(cleaned.notes)})
