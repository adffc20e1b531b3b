"""Best source that speaks, with hand-over and return: which of several is gone by."""

from __future__ import annotations

import math
import statistics
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from towscope.boat.water import FRESH

HANDOVER: Final = 5.0  # [s] of silence after which another source is taken
SLOW_SOURCE: Final = 3.0  # times its own interval, where that is longer
RETURN: Final = 10.0  # [s] for which a better source must be back before it is taken again
EASE: Final = 1.5  # [s] over which a speed through the water is evened out

Key = tuple[str, str]


@dataclass
class Choice:
    """Which of several sources of one figure is used: one at a time, with hand-over."""

    order: Sequence[str]
    used: Key | None = None
    _heard: dict[Key, float] = field(default_factory=dict)
    _every: dict[Key, float] = field(default_factory=dict)
    _back: dict[Key, float] = field(default_factory=dict)  # since when it is steadily there

    def take(self, key: Key, heard: float) -> bool:
        """Note that a source spoke; say whether it is the one that is used."""
        last = self._heard.get(key)
        if last is None or heard - last > self._patience(key):
            self._back[key] = heard
        else:
            old = self._every.get(key, heard - last)
            self._every[key] = old + 0.3 * (heard - last - old)
        self._heard[key] = heard
        if len(self._heard) > 64:  # phones and talkers come and go
            for gone in sorted(self._heard, key=self._heard.__getitem__)[:32]:
                if gone != self.used:
                    for kept in (self._heard, self._every, self._back):
                        kept.pop(gone, None)
        if self.used is None or (self.used != key and self._yields(self.used, key, heard)):
            self.used = key
        return self.used == key

    def _yields(self, used: Key, key: Key, heard: float) -> bool:
        """Tell whether the source in use gives way to another that has spoken."""
        if heard - self._heard.get(used, -math.inf) > self._patience(used):
            return True
        return self._rank(key) < self._rank(used) and heard - self._back[key] >= RETURN

    def _patience(self, key: Key) -> float:
        return max(HANDOVER, SLOW_SOURCE * self._every.get(key, 0.0))

    def _rank(self, key: Key) -> int:
        return self.order.index(key[0]) if key[0] in self.order else len(self.order)


@dataclass
class ChosenFigure:
    """A figure of one kind: who says it, its value and when it came."""

    choice: Choice
    value: float | None = None
    heard: float = -math.inf
    _last: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=3))

    def take(self, key: Key, value: float, heard: float) -> bool:
        """Take a value as it is."""
        if not self.choice.take(key, heard):
            return False
        self.value, self.heard = value, heard
        return True

    def take_middle(self, key: Key, value: float, heard: float) -> bool:
        """Take the middle one of the last three values: one spike is none."""
        if not self.choice.take(key, heard):
            return False
        self._last.append((heard, value))
        near = [v for at, v in self._last if heard - at <= FRESH]
        self.value = statistics.median(near) if len(near) == 3 else value
        self.heard = heard
        return True

    def take_eased(self, key: Key, value: float, heard: float) -> bool:
        """Take a value, evened out over `EASE`."""
        if not self.choice.take(key, heard):
            return False
        step = heard - self.heard
        if self.value is not None and step < FRESH:
            value = self.value + (1.0 - math.exp(-max(step, 0.05) / EASE)) * (value - self.value)
        self.value, self.heard = value, heard
        return True

    def age(self, now: float) -> float | None:
        """Give how old the value is [s]; None where there is none."""
        return None if self.value is None else max(now - self.heard, 0.0)
