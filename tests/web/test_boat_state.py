"""One state of the boat: picture, log, position route and the day's track say the same of it."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from fastapi.testclient import TestClient

from towscope.boat.feeds.aboard import Feeds
from towscope.boat.feeds.model import FeedReading
from towscope.geodesy import Globe
from towscope.journal.events import read_event
from towscope.journal.ids import new_id
from towscope.live import engine
from towscope.live.engine import Live
from towscope.live.models import Targets
from towscope.web import logbook
from towscope.web.app import make_app
from towscope.web.context import AppContext
from towscope.web.recorder import Recorder

LAKE = Globe(48.4, -91.9)
GOES, SENSED, STATED = 0.9, 1.05, 0.2  # [m/s]


@pytest.fixture
def aboard(own_home: Path, tmp_path: Path) -> Iterator[AppContext]:
    made = AppContext(journal=tmp_path / "journal.sqlite", feeds=Feeds([]))
    yield made
    made.close()


def sail(aboard: AppContext, seconds: int, *, sensor: bool) -> float:
    """Let the boat have gone north for so long up to now, by fixes that scatter; give when."""
    assert aboard.feeds is not None
    rng = np.random.default_rng(5)
    wall, clock = time.time(), time.monotonic()
    off = rng.normal(0.0, 0.3, (seconds, 2))
    lat, lon = LAKE.to_globe(off[:, 0], GOES * np.arange(seconds) + off[:, 1])
    for s in range(seconds):
        ago = seconds - 1 - s
        said = {"heard": clock - ago, "source": "GP"}
        fix = FeedReading(wall - ago, float(lat[s]), float(lon[s]), **said)
        aboard.feeds.now.take(fix, "cable")
        if sensor:
            aboard.feeds.now.take(FeedReading(wall - ago, water_speed=SENSED, **said), "cable")
    return clock


@pytest.mark.parametrize(
    ("stated", "sensor", "said", "through"),
    [
        # a boat that goes north through water that runs south is the faster for it
        (0.0, False, "over ground", GOES),
        (STATED, False, "over ground, current taken off", GOES + STATED),
        (0.0, True, "through water", SENSED),
        (STATED, True, "through water", SENSED),
    ],
)
def test_all_say_the_same(
    aboard: AppContext,
    monkeypatch: pytest.MonkeyPatch,
    stated: float,
    sensor: bool,
    said: str,
    through: float,
) -> None:
    live = Live(aboard)
    live.set_targets(Targets(current_m_s=stated, current_to_deg=180.0))
    moment = sail(aboard, 60, sensor=sensor) + 0.7
    monkeypatch.setattr(engine, "clock", SimpleNamespace(monotonic=lambda: moment))
    live._tell()
    boat, present = live.run.boat, aboard.now.present(moment)

    assert (boat.speed_is, present.speed_is) == (said, said)
    assert boat.speed_m_s == pytest.approx(through, abs=0.05)
    assert boat.ground_speed_m_s == pytest.approx(GOES, abs=0.05)
    # to the figures that the picture tells
    assert present.speed == pytest.approx(boat.speed_m_s, abs=0.0006)
    assert present.ground_speed == pytest.approx(boat.ground_speed_m_s, abs=0.0006)
    assert present.lat == pytest.approx(boat.lat, abs=1e-7)
    assert present.lon == pytest.approx(boat.lon, abs=1e-7)
    assert boat.course_deg is not None and present.course is not None
    turned = math.degrees(present.course) - boat.course_deg
    assert abs((turned + 180.0) % 360.0 - 180.0) < 0.06

    client = TestClient(make_app(aboard))  # not entered: nothing else is set going
    assert client.get("/api/feeds").json()["speed_is"] == said

    now = datetime.now(UTC)
    entry = {"id": new_id(), "device": "phone-a", "kind": "bottom_hit", "rod": "port"}
    stamped = logbook.completing(live, aboard.shelf, now)(
        read_event({**entry, "at": now.isoformat()})
    )
    assert (stamped.lat, stamped.lon) == (boat.lat, boat.lon)

    Recorder(aboard.now, lambda: aboard.store).keep()
    _, _, track = next(iter(aboard.store.stretches()))
    assert float(track.speed_m_s[-1]) == pytest.approx(boat.speed_m_s, abs=0.02)
    assert float(track.lat[-1]) == pytest.approx(boat.lat, abs=1e-5)


def test_a_current_stated_before_is_gone_by_from_the_start(aboard: AppContext) -> None:
    Live(aboard).set_targets(Targets(current_m_s=STATED, current_to_deg=180.0))
    assert Live(aboard).vessel.now.current == pytest.approx((0.0, -STATED))
    Live(aboard).set_targets(Targets())
    assert aboard.now.current is None
