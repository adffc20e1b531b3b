"""The boat's time: a receiver's where it can be right, this computer's else."""

from __future__ import annotations

import pytest

from towscope.boat.clock import BoatClock
from towscope.boat.feeds.fusion import Present

NOW = 1_793_000_000.0  # some day of 2026, unix time [s]
WEEKS = 1024 * 604_800.0  # after which old receivers count anew [s]: ICD-GPS-200, 20.3.3.3.1.1


class Machine:
    """A computer whose clock can be set, beside a receiver."""

    def __init__(self, feed: str = "gpsd 10.0.0.2:2947", gps_ahead: float | None = None) -> None:
        self.wall, self.steady = NOW, 1000.0
        self.feed, self.gps_ahead, self.age = feed, gps_ahead, 1.0
        self.clock = BoatClock(self.present, wall=lambda: self.wall, steady=lambda: self.steady)

    def present(self) -> Present:
        return Present(at=self.wall, clock=self.gps_ahead, place_age=self.age, feed=self.feed)

    def passes(self, seconds: float) -> None:
        self.wall += seconds
        self.steady += seconds


def test_without_a_receiver_it_is_the_computers() -> None:
    clock = BoatClock(wall=lambda: NOW, steady=lambda: 5.0)
    assert (clock.behind_s(), clock.time_s(), clock.told().source) == (0.0, NOW, "computer")


@pytest.mark.parametrize("feed", ["gpsd h:1", "Signal K h:1", "TCP h:1", "UDP port 1", "serial p"])
def test_a_receiver_beats_a_computer_that_is_three_hours_off(feed: str) -> None:
    machine = Machine(feed, gps_ahead=10_800.0)
    told = machine.clock.told()
    assert (told.source, told.behind_s) == ("gps", 10_800.0)
    assert told.now.timestamp() == NOW + 10_800.0


@pytest.mark.parametrize(
    ("feed", "ahead"),
    [
        ("the phone's own place", 10_800.0),  # a phone's clock is what is to be set right
        ("recording day.nmea", -86_400.0),
        ("gpsd h:1", -WEEKS),  # its weeks have begun anew
        ("gpsd h:1", 1.5),  # no more than the sentence takes
        ("gpsd h:1", None),
    ],
)
def test_what_tells_another_time_is_not_gone_by(feed: str, ahead: float | None) -> None:
    assert Machine(feed, ahead).clock.behind_s() == 0.0


def test_the_difference_outlasts_the_fix_but_not_a_set_clock() -> None:
    machine = Machine(gps_ahead=10_800.0)
    assert machine.clock.behind_s() == 10_800.0
    machine.age = 3600.0  # under a bridge
    machine.passes(3600.0)
    assert machine.clock.behind_s() == 10_800.0
    machine.wall += 10_800.0  # somebody set the computer right
    assert machine.clock.behind_s() == 0.0


def test_two_of_three_clocks_are_right() -> None:
    machine = Machine(gps_ahead=-86_400.0)  # an old day played over the network
    assert machine.clock.behind_s() == -86_400.0
    machine.clock.hear(0.5)  # a phone tells the computer's time
    assert machine.clock.behind_s() == 0.0
    assert machine.clock.told().source == "computer"
    machine.clock.hear(10_800.0)  # one that is off by itself changes nothing
    assert machine.clock.behind_s() == 0.0
    machine = Machine(gps_ahead=10_800.0)
    machine.clock.hear(10_801.0)  # a phone tells the receiver's time
    assert machine.clock.behind_s() == 10_800.0
