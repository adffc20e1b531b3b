"""Kinds of values in kernels, and what each is called in C."""

from __future__ import annotations

import importlib
from dataclasses import dataclass

SCALARS = {"double": "double", "int": "I", "bool": "int"}
ELEMENTS = {"double": "double", "float": "float", "int": "I"}


@dataclass(frozen=True)
class Scalar:
    """A plain number: double, int or bool."""

    name: str

    @property
    def c(self) -> str:
        """Its name in C."""
        return SCALARS[self.name]


@dataclass(frozen=True)
class Array:
    """An array given by the caller, its last index the fastest: where it is, and how long."""

    element: str
    rank: int

    @property
    def c(self) -> str:
        """Its name in C."""
        return f"A{self.rank}_{self.element}"


@dataclass(frozen=True)
class Record:
    """A named tuple, or a plain one, whose fields are then e0, e1 and so on."""

    name: str
    fields: tuple[tuple[str, Kind], ...]

    @property
    def c(self) -> str:
        """Its name in C."""
        return self.name

    def kind_of(self, field: str) -> Kind | None:
        """Give the kind of a field."""
        return dict(self.fields).get(field)


Kind = Scalar | Array | Record
DOUBLE, INT, BOOL = Scalar("double"), Scalar("int"), Scalar("bool")
ARRAYS = {
    "Vector": Array("double", 1),
    "Matrix": Array("double", 2),
    "Cube": Array("double", 3),
    "Block": Array("double", 4),
    "SingleBlock": Array("float", 4),
    "IntegerVector": Array("int", 1),
    "IntegerMatrix": Array("int", 2),
}
BARE = {"float": DOUBLE, "int": INT, "bool": BOOL}


def is_record(value: object) -> bool:
    """Tell whether a value is a class of named tuples."""
    return isinstance(value, type) and issubclass(value, tuple) and hasattr(value, "_fields")


def kind_of_words(words: str, module: str) -> Kind | None:
    """Give the kind that an annotation names, as a module has it; None where it is outside."""
    words = words.strip()
    if words in BARE:
        return BARE[words]
    if words in ARRAYS:
        return ARRAYS[words]
    if words.startswith("tuple[") and words.endswith("]"):
        return plain_tuple([kind_of_words(part, module) for part in _parts(words[6:-1])])
    value = vars(importlib.import_module(module)).get(words)
    return record_of(value) if is_record(value) else None


def record_of(value: object) -> Record | None:
    """Give the kind of a class of named tuples; None where a field is of none."""
    fields = []
    for name, words in value.__annotations__.items():  # type: ignore[attr-defined]
        kind = kind_of_words(getattr(words, "__forward_arg__", words), value.__module__)
        if kind is None:
            return None
        fields.append((name, kind))
    home = value.__module__.rsplit(".", 1)[-1]
    return Record(f"{home}_{value.__name__}", tuple(fields))  # type: ignore[attr-defined]


def plain_tuple(kinds: list[Kind | None]) -> Record | None:
    """Give the kind of a tuple without names."""
    known = [kind for kind in kinds if kind is not None]
    if len(known) < len(kinds):
        return None
    name = "T_" + "_".join(kind.c for kind in known)
    return Record(name, tuple((f"e{i}", kind) for i, kind in enumerate(known)))


def _parts(words: str) -> list[str]:
    """Cut at the commas that stand in no brackets."""
    parts, depth, start = [], 0, 0
    for i, letter in enumerate(words):
        depth += (letter == "[") - (letter == "]")
        if letter == "," and depth == 0:
            parts.append(words[start:i])
            start = i + 1
    return [*parts, words[start:]]
