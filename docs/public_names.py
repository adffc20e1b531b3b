"""The API page's sections, made from the list of public names in `towscope/__init__.pyi`.

The page itself holds only its opening words and the line `<!-- public names -->`; Sphinx puts what
is made here in that line's place.
"""

from __future__ import annotations

import inspect
from operator import attrgetter
from typing import Any

import towscope

MARK = "<!-- public names -->"


def names() -> list[str]:
    """Give the public names, those of a public module written out: ``fish.weigh``."""
    told = []
    for name in towscope.__all__:
        thing = getattr(towscope, name)
        if inspect.ismodule(thing):
            # what it shares with other rooms besides stays there
            own = f"{thing.__name__}.answers"
            told += [f"{name}.{n}" for n in thing.__all__ if of(thing, n) == own]
        elif not name.startswith("__"):
            told.append(name)
    return told


def of(thing: Any, name: str) -> str | None:
    """Give the module that a name of another comes from."""
    return getattr(getattr(thing, name), "__module__", None)


def sections() -> str:
    """Give a section for each public name, classes after what gives them, as MyST."""
    asked = [name for name in names() if not inspect.isclass(_named(name))]
    kinds = [name for name in names() if inspect.isclass(_named(name))]
    faults = [name for name in kinds if issubclass(_named(name), BaseException)]
    answers = [name for name in kinds if name not in faults]
    parts = []
    for heading, group in (("To ask", asked), ("What answers", answers), ("Faults", faults)):
        parts.append(f"## {heading}")
        parts.append("\n".join(f"- {{py:obj}}`{n} <towscope.{n}>`: {_first(n)}" for n in group))
        for name in group:
            kind, more = ("function", "") if group is asked else ("class", "   :members:\n")
            shown = f"{name}()" if group is asked else name
            parts.append(
                f"### {shown}\n\n```{{eval-rst}}\n.. auto{kind}:: towscope.{name}\n{more}```"
            )
    return "\n\n".join(parts)


def _named(name: str) -> Any:
    return attrgetter(name)(towscope)


def _first(name: str) -> str:
    return (inspect.getdoc(_named(name)) or "").split("\n\n")[0].replace("\n", " ")


def put_in(_app: object, _name: str, source: list[str]) -> None:
    """Put them into the page that asks for them (Sphinx's event `source-read`)."""
    if MARK in source[0]:
        source[0] = source[0].replace(MARK, sections())
