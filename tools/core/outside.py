"""The core's ways in: each kernel given out takes plain pointers and numbers, no records.

An array becomes a pointer and its sizes, a named tuple all of its fields in order, and a result of
several numbers is written where a last pointer says.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kinds import ELEMENTS, Array, Kind, Record, Scalar
from writer import Book


@dataclass(frozen=True)
class Given:
    """A number or an array that a way in takes, by its path through the named tuples."""

    path: tuple[str, ...]
    kind: Scalar | Array


@dataclass(frozen=True)
class Entry:
    """A way in."""

    name: str
    parameters: tuple[tuple[str, Kind], ...]
    given: tuple[Given, ...]
    result: Kind | None


def entry(book: Book, name: str, function: Any) -> tuple[Entry, str]:
    """Write a kernel and its way in; gives what it takes and the C."""
    kernel, parameters, result = book.kernel(function)
    given: list[Given] = []
    built = [_build(book, (own,), kind, given) for own, kind in parameters]
    arguments = []
    for each in given:
        c = "_".join(each.path)
        if isinstance(each.kind, Array):
            arguments.append(f"{ELEMENTS[each.kind.element]} *{c}")
            arguments.extend(f"I {c}_{i}" for i in range(each.kind.rank))
        else:
            arguments.append(f"{each.kind.c} {c}")
    call = f"{kernel}({', '.join(built)})"
    if isinstance(result, Record):
        arguments.append("double *result")
        body = f"{result.c} r = {call}; " + " ".join(
            f"result[{i}] = r.{field}_;" for i, (field, _) in enumerate(result.fields)
        )
        kind = "void"
    elif result is None:
        body, kind = f"{call};", "void"
    else:
        body, kind = f"return {call};", result.c
    text = f"OUT {kind} core_{name}({', '.join(arguments)}) {{ {body} }}\n"
    return Entry(name, tuple(parameters), tuple(given), result), text


def _build(book: Book, path: tuple[str, ...], kind: Kind, given: list[Given]) -> str:
    if isinstance(kind, Record):
        parts = [_build(book, (*path, field), own, given) for field, own in kind.fields]
        return f"({kind.c}){{{', '.join(parts)}}}"
    given.append(Given(path, kind))
    c = "_".join(path)
    if isinstance(kind, Array):
        sizes = ", ".join(f"{c}_{i}" for i in range(kind.rank))
        return f"({kind.c}){{{c}, {sizes}}}"
    return c


OUT = """
#ifdef __wasm__
#define OUT __attribute__((visibility("default")))
#elif defined(_WIN32)
#define OUT __declspec(dllexport)
#else
#define OUT __attribute__((visibility("default")))
#endif
"""


def source(entries: dict[str, Any]) -> tuple[str, list[Entry]]:
    """Write all kernels given out, and all they call; gives the C and the ways in."""
    book = Book()
    written = [entry(book, name, function) for name, function in entries.items()]
    return book.text() + OUT + "".join(text for _, text in written), [each for each, _ in written]
