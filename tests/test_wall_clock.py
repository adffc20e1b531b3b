"""The clock can be told what time it is, and runs on from there."""

from collections.abc import Iterator
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from towscope import clock
from towscope.effort.fished import present
from towscope.errors import InputError
from towscope.journal.ids import new_id


@pytest.fixture(autouse=True)
def own_clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    yield
    monkeypatch.undo()
    clock.begin()


def test_a_told_moment_is_now_everywhere(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TOWSCOPE_NOW", "2026-08-15T03:10:00-05:00")
    monkeypatch.setenv("TOWSCOPE_ZONE", "Asia/Kathmandu")
    clock.begin()
    moment = datetime(2026, 8, 15, 8, 10, tzinfo=UTC)
    assert 0.0 <= (clock.now() - moment).total_seconds() < 60.0
    now, zone = present()
    assert zone == "Asia/Kathmandu"
    assert now.tzinfo == ZoneInfo(zone)
    assert (now.hour, now.minute) == (13, 55)
    # an id's first 48 bits are its time [ms], RFC 9562 section 5.7
    assert int(new_id().replace("-", "")[:12], 16) / 1000 == pytest.approx(
        moment.timestamp(), abs=60.0
    )


@pytest.mark.parametrize("told", ["soon", "2026-08-15T03:10:00"])
def test_a_moment_that_is_none_is_refused(monkeypatch: pytest.MonkeyPatch, told: str) -> None:
    monkeypatch.setenv("TOWSCOPE_NOW", told)
    with pytest.raises(InputError, match="expected a time with its offset"):
        clock.begin()
