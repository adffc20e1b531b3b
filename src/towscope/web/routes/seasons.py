"""Route for all days added up."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Query

from towscope.constants import FOOT
from towscope.effort.seasons import Seasons, lengths, seasons
from towscope.errors import NoAnswer
from towscope.pattern.rates import rate
from towscope.progress import Progress
from towscope.web.answer_cache import kept_of, mark_of
from towscope.web.context import Here
from towscope.web.routes.days import journal_of
from towscope.web.routes.pattern import Kept, how_it_stands
from towscope.web.saying import SystemName

router = APIRouter(prefix="/api/seasons", tags=["seasons"])

STEPS: Final = {
    "us": {"depth": 5 * FOOT, "temperature": 2 / 1.8, "hour": 1.0},
    "metric": {"depth": 1.5, "temperature": 1.0, "hour": 1.0},
}
MOST_FISH: Final = 20_000


class SeasonsAnswer(Kept):
    """All days added up, or how far the adding is."""

    answer: Seasons | None = None


@router.get("")
def all_seasons(
    here: Here, units: SystemName = "us", again: Annotated[bool, Query()] = False
) -> SeasonsAnswer:
    """Add all days up: rod-hours, fish and rates by day, month, year and what was fished."""

    def work(progress: Progress) -> Seasons:
        progress(0.1, "adding up what was fished")
        effort = journal_of(here).stints()
        progress(0.7, "measuring the fish")
        fish = lengths(here.store)
        if not effort and not fish:
            raise NoAnswer("nothing fished yet; the first day's figures will show here")
        found = seasons(effort, fish, rate, STEPS[units])
        found["fish"] = found["fish"][-MOST_FISH:]
        return found

    standing = kept_of(here).ask(
        f"seasons {units}", mark_of(here, live=True), "Seasons", work, again=again
    )
    return SeasonsAnswer(**how_it_stands(standing))
