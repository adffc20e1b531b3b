"""Where a trolled lure runs, how sure that is, and what to change."""

__version__ = "0.1.0"
