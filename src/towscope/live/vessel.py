"""One boat's journal, lake, tackle, feeds and time, as what follows it sees them."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from towscope.boat.clock import BoatClock
from towscope.boat.feeds.aboard import Feeds
from towscope.boat.feeds.fusion import Now
from towscope.journal.opening import open_store
from towscope.journal.store import Store
from towscope.tackle import load
from towscope.tackle.shelf import Shelf


@dataclass
class Vessel:
    """One boat, as what follows it sees it.

    Attributes
    ----------
    journal : str or Path or None
        Where the journal is kept, as `open_store` takes it.
    lake : str
        Name of the lake that the boat is on; "" where none is chosen.
    feeds : Feeds or None
        What says where the boat is.
    clock : BoatClock
        The boat's time.
    """

    journal: str | Path | None = None
    lake: str = ""
    feeds: Feeds | None = None
    clock: BoatClock = field(default_factory=BoatClock)
    _store: Store | None = None
    _now: Now = field(default_factory=Now)

    @property
    def now(self) -> Now:
        """The boat's state, as its feeds have it."""
        return self._now if self.feeds is None else self.feeds.now

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
        """Close the journal."""
        if self._store is not None:
            self._store.close()
            self._store = None
