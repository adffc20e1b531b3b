"""What does the running app hold: where its things are kept, its journal, its long tasks."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, cast

from fastapi import Depends, Request

from towscope.boat.clock import BoatClock
from towscope.journal.store import Store, open_store
from towscope.tackle import load
from towscope.tackle.shelf import Shelf
from towscope.web.jobs import Jobs


@dataclass
class Aboard:
    """What one running app shares among its requests.

    Attributes
    ----------
    journal : str or Path or None
        Where the journal is kept, as `open_store` takes it.
    lake : str
        Name of the lake that the boat is on; "" where none is chosen.
    demo : bool
        Whether the made-up day is playing: everything it keeps is thrown away at the end.
    jobs : Jobs
        Long tasks.
    live : Any
        What follows the boat (`towscope.web.live`), or None.
    feeds : Any
        What says where the boat is (`towscope.boat.feeds`), or None.
    clock : BoatClock
        The boat's time.
    rooms : dict of str to Any
        What the app's rooms keep between requests, each under its own name.
    """

    journal: str | Path | None = None
    lake: str = ""
    demo: bool = False
    jobs: Jobs = field(default_factory=Jobs)
    live: Any = None
    feeds: Any = None
    clock: BoatClock = field(default_factory=BoatClock)
    rooms: dict[str, Any] = field(default_factory=dict)
    _store: Store | None = None

    @property
    def store(self) -> Store:
        """The journal; opened when first asked for, made where there is none."""
        if self._store is None:
            self._store = open_store(self.journal)
        return self._store

    def shelf(self) -> Shelf:
        """Give the tackle as it is kept now."""
        return load()

    def close(self) -> None:
        """Stop listening, following and long tasks; close the journal."""
        if self.feeds is not None:
            self.feeds.stop()
        if self.live is not None:
            self.live.stop()
        self.jobs.close()
        if self._store is not None:
            self._store.close()
            self._store = None


def _aboard(request: Request) -> Aboard:
    return cast(Aboard, request.app.state.aboard)


Here = Annotated[Aboard, Depends(_aboard)]
"""What a request handler asks for to get at it: ``def handler(here: Here) -> ...``."""
