"""Stints of many days with depths by the engine, for the tackle aboard."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Final

from towscope import clock
from towscope.effort.effort import RUNNING_M_S, season
from towscope.journal.times import local_zone

if TYPE_CHECKING:
    from datetime import date

    from towscope.effort.depths import Depths
    from towscope.effort.stint import Stint
    from towscope.journal.store import Store

LIVE_S: Final = 12 * 3600.0


def present() -> tuple[datetime, str | None]:
    """Give the present in the boat's time zone, and the zone's name."""
    zone, name = local_zone()
    return clock.now(zone), name


def effort_of(
    store: Store,
    depths: Depths,
    *,
    first: date | None = None,
    last: date | None = None,
    running_m_s: float = RUNNING_M_S,
) -> list[Stint]:
    """Give the effort of many days, with depths by the engine for the tackle aboard.

    Parameters
    ----------
    store : Store
        The journal.
    depths : Depths
        The engine with the tackle, as `towscope.calibration.calibrated_rig.depths_of` gives it.
    first, last : date, optional
        Only from and to these days.
    running_m_s : float
        Above this speed the boat is not fishing [m/s].

    Returns
    -------
    list of Stint
        In order of day and start.
    """
    return season(
        store,
        first=first,
        last=last,
        depth_at=depths,
        tackle=depths.fingerprint(),
        now_s=present()[0].timestamp(),
        running_m_s=running_m_s,
    )


def live_now(effort: list[Stint]) -> float | None:
    """Give the present [unix time, s] while the fishing goes on; None long after its last hour."""
    now = present()[0].timestamp()
    ends = [s.end_s for s in effort]
    return now if ends and now - max(ends) < LIVE_S else None
