"""All feeds of the boat together: started, stopped, and made into one present."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from towscope.boat.feeds.fusion import Now
from towscope.boat.feeds.model import Feed, FeedReading, Status, Take
from towscope.boat.feeds.phone import PhoneFeed


@dataclass(frozen=True)
class Named:
    """A feed's name and how it is.

    Attributes
    ----------
    name : str
        What it is, in words.
    status : Status
        How it is.
    """

    name: str
    status: Status


class Feeds:
    """The boat's feeds.

    Parameters
    ----------
    feeds : sequence of Feed
        Best first. The phone is always among them, last if it is not named.

    Attributes
    ----------
    feeds : list of Feed
        All of them.
    phone : PhoneFeed
        The feed that takes what phones post.
    now : Now
        The boat's present.
    at_stop : list of callable
        What is called when they have stopped.

    Examples
    --------
    >>> feeds = Feeds([])
    >>> feeds.start()
    >>> feeds.phone.post(1.8e9, 48.4, -91.9, accuracy=4.0)
    True
    >>> round(feeds.now.present().lat, 3), [named.name for named in feeds.statuses()]
    (48.4, ["the phone's own place"])
    >>> feeds.stop()
    """

    def __init__(self, feeds: Sequence[Feed]) -> None:
        phone = next((feed for feed in feeds if isinstance(feed, PhoneFeed)), None)
        self.phone = PhoneFeed() if phone is None else phone
        self.feeds: list[Feed] = [*feeds] if phone is not None else [*feeds, self.phone]
        names = [feed.name for feed in self.feeds]
        # two of a name (two recordings, say) are told apart by their number
        self._names = [
            name if names.count(name) == 1 else f"{name} ({names[:i].count(name) + 1})"
            for i, name in enumerate(names)
        ]
        self.now = Now(self._names)
        self.at_stop: list[Callable[[], None]] = []

    @property
    def source(self) -> str:
        """The feed that says where the boat is, in words; "" where none does yet."""
        return self.now.feed

    def start(self, take: Take | None = None) -> None:
        """Begin to listen to all of them.

        Parameters
        ----------
        take : callable, optional
            Called with what is used of each reading, in the feeds' threads.
        """
        for name, feed in zip(self._names, self.feeds, strict=True):
            feed.start(self._taker(name, take))

    def stop(self) -> None:
        """Stop all of them."""
        for feed in self.feeds:
            feed.stop()
        for done in self.at_stop:
            done()

    def statuses(self) -> list[Named]:
        """Say how each is."""
        return [
            Named(name, feed.status()) for name, feed in zip(self._names, self.feeds, strict=True)
        ]

    def _taker(self, name: str, take: Take | None) -> Callable[[FeedReading], None]:
        def hear(reading: FeedReading) -> None:
            used = self.now.take(reading, name)
            if used is not None and take is not None:
                take(used)

        return hear
