"""What is on the rod: lines, lures, rigs and reels, from tackle files and the built-in stock."""

from towscope.tackle.models import Line, Lure, Reel, Rig
from towscope.tackle.shelf import Shelf, load

__all__ = ["Line", "Lure", "Reel", "Rig", "Shelf", "load"]
