"""A short code on the boat's screen, with growing waits for wrong ones: which phone may join."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

# No 0 O, 1 I L, S Z, U V: nobody has to ask which one was meant. 27^6 = 387 million codes.
ALPHABET: Final = "23456789ABCDEFGHJKMNPQRTWXY"
LENGTH: Final = 6
LASTS_S: Final = 600.0
FREE_TRIES: Final = 3
FIRST_WAIT_S: Final = 5.0
LONGEST_WAIT_S: Final = 900.0
FORGET_S: Final = 3600.0  # after this long without a try, an address begins anew [s]
MOST_WRONG: Final = 20  # on one code, from all addresses together; then the code is dead
KNOWN: Final = 1024  # addresses that are remembered


@dataclass(frozen=True)
class Tried:
    """What a try came to.

    Attributes
    ----------
    how : str
        "right", "wrong", "wait" (too many tries; `wait_s` more) or "over" (no code is valid now).
    wait_s : float
        Seconds until this address may try again.
    """

    how: Literal["right", "wrong", "wait", "over"]
    wait_s: float = 0.0


class Pairing:
    """The code that is valid now, and who has tried.

    A code lets one phone in; then, or after ten minutes, or when it was guessed at too often, it
    is dead. A new one is made only on the boat's own machine.

    Parameters
    ----------
    clock : callable
        Seconds that only ever rise.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._code = ""
        self._ends = 0.0
        self._wrong = 0
        self._tries: OrderedDict[str, tuple[int, float]] = OrderedDict()

    def renew(self) -> str:
        """Make a new code; the old one is dead."""
        with self._lock:
            self._code = "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))
            self._ends = self._clock() + LASTS_S
            self._wrong = 0
            return self._code

    def current(self) -> tuple[str, float]:
        """Give the code and the seconds it has left; "" and 0 where none is valid."""
        with self._lock:
            left = self._ends - self._clock()
            return (self._code, left) if self._code and left > 0.0 else ("", 0.0)

    def attempt(self, address: str, text: str) -> Tried:
        """Try a code.

        Parameters
        ----------
        address : str
            Where the try comes from.
        text : str
            What was typed: small letters, spaces and hyphens do not matter.
        """
        with self._lock:
            now = self._clock()
            tries, free_at = self._tries.pop(address, (0, now))
            if now < free_at:
                self._remember(address, tries, free_at)
                return Tried("wait", free_at - now)
            if now > free_at + FORGET_S:
                tries = 0
            if not self._code or now >= self._ends:
                self._remember(address, tries, free_at)
                return Tried("over")
            # Bytes: compare_digest takes no other letters than ASCII as text.
            typed = tidy(text)[:64].encode("utf-8", "replace")
            if hmac.compare_digest(typed, self._code.encode()):
                self._code = ""
                return Tried("right")
            tries += 1
            wait = 0.0
            if tries >= FREE_TRIES:
                doubled = min(tries - FREE_TRIES, 20)
                wait = min(FIRST_WAIT_S * 2.0**doubled, LONGEST_WAIT_S)
            self._remember(address, tries, now + wait)
            self._wrong += 1
            if self._wrong >= MOST_WRONG:
                self._code = ""
            return Tried("wrong", wait)

    def _remember(self, address: str, tries: int, free_at: float) -> None:
        self._tries[address] = (tries, free_at)
        if len(self._tries) > KNOWN:
            self._tries.popitem(last=False)


def tidy(text: str) -> str:
    """Give a code as it was meant: capitals, without spaces and hyphens.

    >>> tidy(" abc-d23 ")
    'ABCD23'
    """
    return "".join(each for each in text.upper() if not each.isspace() and each != "-")


def spaced(code: str) -> str:
    """Show a code so that it can be read out.

    >>> spaced("ABCD23")
    'ABC D23'
    """
    return f"{code[:3]} {code[3:]}"
