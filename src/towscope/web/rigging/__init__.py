"""Rigs in the app: what is aboard, what a rig answers, what its readings teach."""
