"""Shared state of one running app: the boat, long tasks, what its rooms keep."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any, cast

from fastapi import Depends, Request

from towscope.live.vessel import Vessel
from towscope.web.jobs import Jobs

if TYPE_CHECKING:
    from towscope.boat.feeds.aboard import Feeds
    from towscope.live.engine import Live


@dataclass
class AppContext(Vessel):
    """What one running app shares among its requests.

    Attributes
    ----------
    demo : bool
        Whether the made-up day is playing: everything it keeps is thrown away at the end.
    jobs : Jobs
        Long tasks.
    live : Live or None
        What follows the boat.
    rooms : dict of str to Any
        What the app's rooms keep between requests, each under its own name.
    """

    demo: bool = False
    jobs: Jobs = field(default_factory=Jobs)
    live: Live | None = None
    rooms: dict[str, Any] = field(default_factory=dict)

    def follow(self, feeds: Feeds | None = None) -> Live:
        """Set the live run going.

        Parameters
        ----------
        feeds : Feeds, optional
            What says where the boat is.

        Returns
        -------
        Live
            What follows the boat; it ends with `close`.
        """
        from towscope.live.engine import Live

        self.feeds = feeds
        self.live = Live(self)
        self.live.start()
        if feeds is not None:
            self.clock.present = feeds.now.present
            feeds.start(self.live.take)
        return self.live

    def close(self) -> None:
        """Stop listening, following and long tasks; close the journal."""
        if self.feeds is not None:
            self.feeds.stop()
        if self.live is not None:
            self.live.stop()
        self.jobs.close()
        super().close()


def _aboard(request: Request) -> AppContext:
    return cast(AppContext, request.app.state.aboard)


Here = Annotated[AppContext, Depends(_aboard)]
"""What a request handler asks for to get at it: ``def handler(here: Here) -> ...``."""
