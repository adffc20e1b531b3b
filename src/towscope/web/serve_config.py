"""The serve command's wishes, handed to the process that serves."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class ServeConfig:
    """What is to be served.

    Attributes
    ----------
    port : int
        Where the laptop's own browser finds it; 0 for any that is free.
    lan : bool
        Whether phones may be let in, at the next port.
    lan_port : int
        Where phones find it.
    feeds : tuple of str
        What says where the boat is, as `towscope.boat.feeds.address.feed_of` reads it.
    transducer_m : float
        Depth of the sounder's transducer below the surface [m].
    lake, journal : str
        The lake to begin with; where the journal is kept ("" for the user's own).
    demo : bool
        Whether the made-up day plays, in a home of its own.
    open_page : bool
        Whether to open the page in a browser.
    as_json : bool
        Whether to tell the addresses as JSON.
    listening : tuple of int
        Sockets that are bound already (by number): the laptop's, then the phones'.
    alive, ready : int
        A pipe that ends when the keeper does, and one to say on that all is up; -1 for none.
    starts : int
        How often it was started before.
    """

    port: int = 8642
    lan: bool = False
    lan_port: int = 8643
    feeds: tuple[str, ...] = ()
    transducer_m: float = 0.0
    lake: str = ""
    journal: str = ""
    demo: bool = False
    open_page: bool = False
    as_json: bool = False
    listening: tuple[int, ...] = ()
    alive: int = -1
    ready: int = -1
    starts: int = 0

    def told(self) -> str:
        """Give it as text."""
        return json.dumps(asdict(self))

    @classmethod
    def read(cls, text: str) -> ServeConfig:
        """Read it again."""
        told: dict[str, Any] = json.loads(text)
        told["feeds"] = tuple(told["feeds"])
        told["listening"] = tuple(told["listening"])
        return cls(**told)
