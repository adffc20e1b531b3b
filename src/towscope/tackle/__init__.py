"""What is on the rod: lines, lures, rigs and reels, read from tackle files and the built-in stock."""

from towscope.tackle.shelf import Shelf, load
from towscope.tackle.models import Line, Lure, Reel, Rig

__all__ = ["Line", "Lure", "Reel", "Rig", "Shelf", "load"]
