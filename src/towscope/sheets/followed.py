"""A followed track's findings in words, and as a table."""

from __future__ import annotations

import csv
import io
import math
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np
from rich.text import Text

from towscope.boat.track import clock
from towscope.constants import MILE
from towscope.follow.explain import Reason, reason
from towscope.retold import retold

if TYPE_CHECKING:
    from towscope.answers.follow import FollowAnswer
    from towscope.boat.track import BoatTrack
    from towscope.follow.lure_path import Followed
    from towscope.units import System

MOST_NOTES = 12


def summary(answer: FollowAnswer, system: System) -> list[Text]:
    """Say what a followed track came to.

    Parameters
    ----------
    answer : FollowAnswer
        Where the lure ran.
    system : System
        Units.

    Returns
    -------
    list of Text
        Lines to print.
    """
    rig, name, track, way, notes = (
        answer.rig, answer.name, answer.track, answer.way, answer.notes,
    )  # fmt: skip
    bottom = answer.lake if answer.level_m is None else answer.level_m
    counted = way.trolling if way.trolling.any() else np.ones(len(way.time), dtype=bool)
    depth = np.where(counted, way.depth, np.nan)
    usual = float(np.nanmedian(depth))
    low, high = (float(v) for v in np.nanquantile(depth, [0.05, 0.95]))
    outs = (float(way.let_out.min()), float(way.let_out.max()))
    out = (
        system.show(outs[0], "length") if outs[1] - outs[0] < 0.1 else system.range(*outs, "length")
    )
    pace = system.show(float(np.median(way.boat[counted, 3])), "speed")
    lines = [
        Text(f"Rig {rig} behind {name}, {out} out", style="bold"),
        Text(
            f"{clock(_followed_time(track))} followed from {_start(track)}, mostly at {pace}, "
            f"{_far(way, system)}"
        ),
        *(
            Text(retold(note, system.name), style="bold")
            for note in notes
            if note.startswith("Check:")
        ),
        Text(""),
    ]
    notes = tuple(note for note in notes if not note.startswith("Check:"))
    lines.append(
        Text(
            f"Usually it ran {system.show(usual, 'length')} down; "
            f"nine tenths of the time {system.range(low, high, 'length')}",
            style="bold",
        )
    )
    deepest, highest = int(np.nanargmax(depth)), int(np.nanargmin(depth))
    for word, index in (("Deepest", deepest), ("Shallowest", highest)):
        lines.append(
            Text(
                f"{word} {system.show(float(way.depth[index]), 'length')} "
                f"({system.range(float(way.low[index]), float(way.high[index]), 'length')}, 9 in "
                f"10) at {moment(track, way, index)}, {why(reason(way, index), system)}"
            )
        )
    if bool((way.high > way.low).any()):
        half = 0.5 * float(np.nanmedian(np.where(counted, way.high - way.low, np.nan)))
        lines.append(
            Text(f"Any depth is sure to {system.show(half, 'length', 1)} either way, 9 in 10")
        )
    pull = int(np.argmax(np.where(counted, way.tension, -np.inf)))
    lines.append(
        Text(
            f"Strongest pull {system.show(float(way.tension[pull]), 'force')} at "
            f"{moment(track, way, pull)}"
        )
    )
    if bottom:
        want, most = answer.keep_m or 0.0, answer.let_out_to_keep_m
        lines.extend(_bottom(track, way, system, bottom, want, most))
    if notes or track.gaps:
        zero = float(track.time[0])
        told = [*notes, *(gap.words(zero) for gap in track.gaps)]
        said = [retold(each, system.name) for each in told]
        lines.append(Text(""))
        lines.append(Text("What was mended or assumed:"))
        lines.extend(Text(f"  {note}", style="dim") for note in said[:MOST_NOTES])
        if len(said) > MOST_NOTES:
            more = len(said) - MOST_NOTES
            lines.append(Text(f"  and {more} more: see --json", style="dim"))
    return lines


def why(found: Reason, system: System) -> str:
    """Say what the boat had been doing."""
    pace = f"{system.show(found.speed, 'speed', 1)}"
    words = []
    if found.turn:
        side = "starboard" if found.turn > 0 else "port"
        words.append(f"in a turn to {side} ({abs(math.degrees(found.turn)):.0f}°)")
    if found.slower:
        words.append(f"after a slow spell at {pace}")
    elif found.faster:
        words.append(f"after a fast spell at {pace}")
    if found.more_line:
        more = system.show(abs(found.more_line), "length")
        words.append(f"with {more} {'more' if found.more_line > 0 else 'less'} line than usual")
    return " and ".join(words) or f"going straight at {pace}"


def moment(track: BoatTrack, way: Followed, index: int) -> str:
    """Say when a moment was: into the track, and by the clock where the day is known."""
    second = float(way.time[index])
    into = clock(second - float(track.time[0]))
    if track.epoch is None:
        return into
    return f"{into} ({_local(track.epoch + second):%H:%M:%S})"


def _local(unix: float) -> datetime:
    from towscope.journal.times import local_zone

    return datetime.fromtimestamp(unix, local_zone()[0])


def _start(track: BoatTrack) -> str:
    if track.epoch is None:
        return "its start"
    begin = _local(track.epoch + float(track.time[0]))
    return f"{begin:%Y-%m-%d %H:%M} {begin.tzname() or ''}".rstrip()


def _followed_time(track: BoatTrack) -> float:
    return sum(float(track.time[b - 1] - track.time[a]) for a, b in track.stretches)


def _far(way: Followed, system: System) -> str:
    step = np.hypot(np.diff(way.boat[:, 0]), np.diff(way.boat[:, 1]))
    metres = float(step[np.diff(way.stretch) == 0].sum())
    if system.name == "us":
        return f"{metres / MILE:.1f} miles" if metres > 800 else system.show(metres, "length")
    return f"{metres / 1000:.1f} km" if metres > 800 else system.show(metres, "length")


def _bottom(
    track: BoatTrack,
    way: Followed,
    system: System,
    bottom: float | str,
    want: float,
    most: float | None,
) -> list[Text]:
    clear = np.where(way.trolling, way.clearance, np.nan)
    if np.isnan(clear).all():
        return []
    at = int(np.nanargmin(clear))
    what = "the lure" if way.by_lure[at] else "the line, below the lure,"
    over = (
        f"the bottom of {bottom}"
        if isinstance(bottom, str)
        else f"a level bottom at {system.show(bottom, 'length')}"
    )
    least, low = float(clear[at]), float(np.nanmin(way.clearance_low))
    lines = [Text("")]
    if least <= 0.0:
        spells, seconds = _spells(way.time, clear <= 0.0)
        times = "once" if spells == 1 else f"{spells} times"
        lines.append(
            Text(
                f"Over {over} {what} would hit bottom {times}, for {clock(seconds)} in all; "
                "the worst "
                f"at {moment(track, way, at)}, {why(reason(way, at), system)}",
                style="bold",
            )
        )
    else:
        sure = (
            "and may well hit bottom"
            if low <= 0.0
            else f"and {system.show(low, 'length')} or more, 95 in 100"
        )
        lines.append(
            Text(
                f"Over {over} {what} stays {system.show(least, 'length', 1)} off bottom, {sure}; "
                f"the least at {moment(track, way, at)}, {why(reason(way, at), system)}",
                style="bold",
            )
        )
    if want:
        kept = system.show(want, "length")
        lines.append(
            Text(
                f"No line out stays {kept} off bottom all along"
                if most is None
                else f"With up to {system.show(most, 'length')} out it stays {kept} off bottom "
                "all along"
            )
        )
    return lines


def _spells(time: np.ndarray, which: np.ndarray) -> tuple[int, float]:
    starts = int((np.diff(np.concatenate([[False], which]).astype(int)) == 1).sum())
    step = float(np.median(np.diff(time))) if len(time) > 1 else 0.0
    return starts, float(which.sum()) * step


def as_csv(track: BoatTrack, way: Followed) -> str:
    """Give boat and lure as a table in SI units."""
    columns: dict[str, tuple[np.ndarray, int]] = {
        "time_s": (way.time, 3),
        "x_m": (way.lure[:, 0], 2),
        "y_m": (way.lure[:, 1], 2),
        "depth_m": (way.depth, 3),
        "depth_90_low_m": (way.low, 3),
        "depth_90_high_m": (way.high, 3),
        "tension_n": (way.tension, 3),
        "let_out_m": (way.let_out, 3),
        "boat_x_m": (way.boat[:, 0], 2),
        "boat_y_m": (way.boat[:, 1], 2),
        "boat_speed_m_s": (way.boat[:, 3], 3),
    }
    if track.globe is not None:
        lat, lon = track.globe.to_globe(way.lure[:, 0], way.lure[:, 1])
        columns["lat"], columns["lon"] = (lat, 7), (lon, 7)
    if bool(np.isfinite(way.clearance).any()):
        columns["off_bottom_m"] = (way.clearance, 3)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    for row in zip(*(values for values, _ in columns.values()), strict=True):
        writer.writerow(
            f"{value:.{places}f}" if math.isfinite(value) else ""
            for value, (_, places) in zip(row, columns.values(), strict=True)
        )
    return text.getvalue()
