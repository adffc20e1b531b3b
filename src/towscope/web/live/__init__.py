"""The live run: boat, lines and bottom as they are now and in the next two minutes."""

from towscope.web.live.engine import Live, attach

__all__ = ["Live", "attach"]
