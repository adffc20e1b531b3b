"""Lines, lures, rigs and reels, from tackle files and the built-in stock."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from towscope.tackle.models import Line, Lure, Reel, RigParts
    from towscope.tackle.shelf import Shelf, load

__all__ = ["Line", "Lure", "Reel", "RigParts", "Shelf", "load"]


def __getattr__(name: str) -> Any:
    """Load the shelf or the models when first asked for: a quick question may need neither."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    room = "shelf" if name in ("Shelf", "load") else "models"
    return getattr(import_module(f"towscope.tackle.{room}"), name)
