"""Every screen of the app and what may lie over it: where the tests of all screens call.

A screen that gets a new sheet or panel gets a `Stop` here; `test_every_screen.py` does the rest:
axe-core, nothing sideways, the bar in reach, Back, Escape and the keyboard.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Page


@dataclass(frozen=True)
class Stop:
    """A screen, or something over it.

    Attributes
    ----------
    room : str
        What stands in the address behind the "#": "log", "trip?part=fish".
    heading : str
        Of the screen, as a pattern.
    open : callable or None
        Opens what lies over the screen; None for the screen itself.
    over : str
        What is there only while it is open, as a selector.
    """

    room: str
    heading: str
    open: Callable[[Page], None] | None = None
    over: str = "dialog[open]"


def press(name: str, role: str = "button") -> Callable[[Page], None]:
    """Press the first thing of that name."""

    def do(page: Page) -> None:
        page.get_by_role(role, name=re.compile(name)).first.click()  # type: ignore[arg-type]

    return do


STOPS = (
    Stop("lines", "Lines"),
    Stop("lines", "Lines", press("^Help")),
    Stop("lines", "Lines", press("change it$")),
    Stop("lines", "Lines", press("^Off bottom and current")),
    Stop("lines", "Lines", press("^Settings")),
    Stop("log", "Log"),
    Stop("lake", "."),
    Stop("rigs", "Rigs"),
    Stop("pattern", "."),
    Stop("trip", "Trip"),
    Stop("trip?part=fish", "Trip"),
    Stop("trip?part=after", "Trip"),
    Stop("trip?part=seasons", "Trip"),
)
