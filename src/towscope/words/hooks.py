"""One list of where fish are hooked, for the log, the advice on releasing it, and the pages."""

from __future__ import annotations

from typing import Final, Literal, get_args

Hook = Literal["lip", "mouth", "gill", "eye", "throat", "stomach", "outside"]
"""The place; what people read for it is in the list of words, under "hooks"."""

HOOKS: Final[tuple[Hook, ...]] = get_args(Hook)
"""All places, from the harmless inward; foul-hooked last."""
