"""How far long work is: each part tells it the same way, never backwards, and can be stopped."""

from __future__ import annotations

import numpy as np
import pytest

import towscope as ts


class EnoughError(Exception):
    """Raised by who listens, to stop the work."""


def pond(progress) -> ts.Lake:
    lat, lon = (v.ravel() for v in np.mgrid[48.4:48.402:30j, -91.903:-91.9:30j])
    return ts.Lake.from_soundings((lat, lon, 3.0 + 15e3 * (lat - 48.4)), progress=progress)


def test_building_a_lake_goes_forward_through_its_steps() -> None:
    heard: list[tuple[float, str]] = []
    pond(lambda share, doing: heard.append((share, doing)))
    shares = [share for share, _ in heard]
    assert shares == sorted(shares) and shares[0] >= 0.0 and shares[-1] <= 1.0
    steps = list(dict.fromkeys(doing.split(":")[0].split()[0] for _, doing in heard))
    assert steps == ["cleaning", "leaving", "solving", "standard"]


def test_who_listens_can_stop_it() -> None:
    def stop(share: float, doing: str) -> None:
        if share > 0.5:
            raise EnoughError

    with pytest.raises(EnoughError):
        pond(stop)
