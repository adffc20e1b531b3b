"""Compare sun and moon with Skyfield on JPL's ephemeris DE421, every day of a year at twelve places.

``python bench/sky.py [YEAR]`` prints a markdown table. Skyfield computes the sky by itself: another
program, another ephemeris, and the crossings here are the roots of a spline through its heights.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from scipy.interpolate import CubicSpline

from towscope.sky import sun

PLACES = {  # lakes, or water near them; the zone's clock changes by the season at most of them
    "Boundary lakes": (48.4, -91.9, "America/Chicago"),
    "Great Slave Lake": (62.0, -114.4, "America/Edmonton"),
    "Tromso": (70.0, 19.0, "Europe/Oslo"),
    "Inari": (68.9, 27.9, "Europe/Helsinki"),
    "Yukon River": (66.5, -145.2, "America/Anchorage"),
    "Lake Victoria": (0.2, 32.5, "Africa/Kampala"),
    "Lake Taupo": (-38.8, 175.9, "Pacific/Auckland"),
    "Lord Howe": (-31.5, 159.1, "Australia/Lord_Howe"),
    "Punta Arenas": (-53.2, -70.9, "America/Punta_Arenas"),
    "South Shetlands": (-62.0, -58.0, "America/Punta_Arenas"),
    "Troll": (-70.0, 2.5, "Antarctica/Troll"),
    "Kiritimati": (1.9, -157.4, "Pacific/Kiritimati"),
}
STEP_S = 1200.0
DAY_S = 86400.0
# Where the height turns within so much of the level, two ephemerides (5 arc seconds apart in the
# moon) may differ on whether it is reached at all; the air differs by 50 times as much.
DOUBTFUL_DEG = 0.004


@dataclass
class Sky:
    """Heights of sun and moon [degrees] as splines of unix time, from Skyfield."""

    sun: CubicSpline
    moon: CubicSpline

    def events(self, name: str) -> tuple[np.ndarray, np.ndarray]:
        """Give the times of an event, and those of turns that only touch its level [s]."""
        curve, level, way = {
            "sunrise": (self.sun, -50 / 60, 1),
            "sunset": (self.sun, -50 / 60, -1),
            "dawn": (self.sun, -6.0, 1),
            "dusk": (self.sun, -6.0, -1),
            "moonrise": (self.moon, -34 / 60, 1),
            "moonset": (self.moon, -34 / 60, -1),
        }[name]
        roots = curve.solve(level, extrapolate=False)
        turns = curve.derivative().roots(extrapolate=False)
        touching = turns[np.abs(curve(turns) - level) < DOUBTFUL_DEG]
        return roots[np.sign(curve(roots, 1)) == way], touching


def skies(first: float, last: float) -> Iterator[tuple[str, float, float, str, Sky]]:
    """Give the sky from a moment to another [unix s] at each of the places."""
    import skyfield_data
    from skyfield.api import Loader, utc, wgs84

    # not by its own get_skyfield_data_path(), which warns by the date on the clock
    load = Loader(Path(skyfield_data.__file__).parent / "data", verbose=False)
    bodies = load("de421.bsp")
    moments = np.arange(first, last + STEP_S, STEP_S)
    scale = load.timescale(builtin=True)
    t = scale.from_datetimes([datetime.fromtimestamp(m, utc) for m in moments])
    for name, (lat, lon, zone) in PLACES.items():
        here = (bodies["earth"] + wgs84.latlon(lat, lon)).at(t)
        heights, _, _ = here.observe(bodies["sun"]).apparent().altaz()
        moons, _, far = here.observe(bodies["moon"]).apparent().altaz()
        limb = np.degrees(np.arcsin(1737.4 / far.km))  # IAU 2015: mean radius of the moon
        yield (
            name, lat, lon, zone,
            Sky(CubicSpline(moments, heights.degrees), CubicSpline(moments, moons.degrees + limb)),
        )  # fmt: skip


def told(lat: float, lon: float, days: list[date], zone: str) -> dict[str, list[float]]:
    """Give the times of all events that towscope gives for days [unix s]."""
    found: dict[str, list[float]] = {
        k: [] for k in ("sunrise", "sunset", "dawn", "dusk", "moonrise", "moonset")
    }
    where = ZoneInfo(zone)
    for on in days:
        answer = sun.day(lat, lon, on, where)
        for name in ("sunrise", "sunset", "dawn", "dusk"):
            moment = getattr(answer, name)
            found[name] += [moment.timestamp()] if moment is not None else []
        found["moonrise"] += [m.timestamp() for m in answer.moonrises]
        found["moonset"] += [m.timestamp() for m in answer.moonsets]
    return found


@dataclass
class Compared:
    """How many events there are, the largest difference [s], and what has no counterpart."""

    count: int
    worst: float
    lost: list[float]
    invented: list[float]
    doubtful: int


def compare(
    ours: list[float], theirs: np.ndarray, touching: np.ndarray, first: float, last: float
) -> Compared:
    """Pair events from a moment to another [s]; nearer than half an hour is the same event."""
    mine, all_mine = np.array([t for t in ours if first < t < last]), np.array(ours)
    wanted = theirs[(theirs > first) & (theirs < last)]

    def apart(one: float, many: np.ndarray) -> float:
        return float(np.abs(many - one).min()) if many.size else np.inf

    doubtful = {t for t in (*mine, *wanted) if apart(t, touching) < 1800.0}
    lost = [t for t in wanted if apart(t, all_mine) > 1800.0 and t not in doubtful]
    invented = [t for t in mine if apart(t, theirs) > 1800.0 and t not in doubtful]
    # one day may not give what another gave
    invented += [t for k, t in enumerate(sorted(mine)[1:]) if t - sorted(mine)[k] < 60.0]
    sure = [apart(t, all_mine) for t in wanted if t not in doubtful]
    paired = [d for d in sure if d <= 1800.0]
    return Compared(len(wanted), max(paired, default=0.0), lost, invented, len(doubtful))


def main() -> None:
    """Print the table of a year."""
    year = int(sys.argv[1]) if len(sys.argv) > 1 else 2026
    first = datetime(year, 1, 1, tzinfo=UTC).timestamp()
    days = [date(year, 1, 1) + timedelta(k) for k in range(365)]
    last = first + 365 * DAY_S
    print("| place | latitude | events | worst [s] | lost | invented | touching |")
    print("|---|---|---|---|---|---|---|")
    for name, lat, lon, zone, sky in skies(first - 2 * DAY_S, last + 2 * DAY_S):
        found = told(lat, lon, days, zone)
        # all zones' days lie within these moments
        sums = [
            compare(times, *sky.events(kind), first + DAY_S, last - DAY_S)
            for kind, times in found.items()
        ]
        print(
            f"| {name} | {lat:g} | {sum(s.count for s in sums):,} | "
            f"{max(s.worst for s in sums):.1f} | {sum(len(s.lost) for s in sums)} | "
            f"{sum(len(s.invented) for s in sums)} | {sum(s.doubtful for s in sums)} |"
        )
    start = time.perf_counter()
    for on in days[::10]:
        sun.day(48.4, -91.9, on, ZoneInfo("America/Chicago"))
    print(f"\n{(time.perf_counter() - start) / len(days[::10]) * 1e3:.0f} ms a day")


if __name__ == "__main__":
    main()
