"""The bed of a lake, read once: the map, the depths and the plans of passes all go by it."""

from __future__ import annotations

from functools import lru_cache

from towscope.bed import store
from towscope.bed.bed import Bed


def key_of(name: str) -> str:
    """Give what changes when a lake is built anew: the name of its bed's file.

    Raises
    ------
    InputError
        Where there is no such lake.
    """
    return str(store.facts(name).get("bed", ""))


def bed_of(name: str) -> Bed:
    """Give the bed of a kept lake.

    Raises
    ------
    InputError
        Where there is no such lake, or it is broken.
    """
    return _read(str(store.folder(name)), name, key_of(name))


@lru_cache(maxsize=2)
def _read(folder: str, name: str, key: str) -> Bed:
    return store.load(name)
