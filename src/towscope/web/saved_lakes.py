"""Saved lakes, each read once: the map, the depths and the plans of passes all go by it."""

from __future__ import annotations

from functools import lru_cache

from towscope.answers.lake import Lake, lake
from towscope.bed import store


def key_of(name: str) -> str:
    """Give what changes when a lake is built anew: the name of its bed's file.

    Raises
    ------
    InputError
        Where there is no such lake.
    """
    return str(store.facts(name).get("bed", ""))


def lake_of(name: str) -> Lake:
    """Give a saved lake.

    Raises
    ------
    InputError
        Where there is no such lake, or it is broken.
    """
    return _read(str(store.folder(name)), name, key_of(name))


@lru_cache(maxsize=2)
def _read(folder: str, name: str, key: str) -> Lake:
    return lake(name)
