"""The API page's sections, made from the list of public names in `towscope/__init__.pyi`.

The page itself holds only its opening words and the line `<!-- public names -->`; Sphinx puts what
is made here in that line's place.
"""

from __future__ import annotations

import inspect

import towscope

MARK = "<!-- public names -->"


def sections() -> str:
    """Give a section for each public name, classes after what gives them, as MyST."""
    names = [name for name in towscope.__all__ if not name.startswith("__")]
    asked = [name for name in names if not inspect.isclass(getattr(towscope, name))]
    kinds = [name for name in names if inspect.isclass(getattr(towscope, name))]
    faults = [name for name in kinds if issubclass(getattr(towscope, name), BaseException)]
    answers = [name for name in kinds if name not in faults]
    parts = []
    for heading, group in (("To ask", asked), ("What answers", answers), ("Faults", faults)):
        parts += [
            f"## {heading}",
            "\n".join(f"- {{py:obj}}`~towscope.{name}`: {_first(name)}" for name in group),
        ]
        for name in group:
            kind, more = ("function", "") if group is asked else ("class", "   :members:\n")
            shown = f"{name}()" if group is asked else name
            parts.append(
                f"### {shown}\n\n```{{eval-rst}}\n.. auto{kind}:: towscope.{name}\n{more}```"
            )
    return "\n\n".join(parts)


def _first(name: str) -> str:
    return (inspect.getdoc(getattr(towscope, name)) or "").split("\n\n")[0].replace("\n", " ")


def put_in(_app: object, _name: str, source: list[str]) -> None:
    """Put them into the page that asks for them (Sphinx's event `source-read`)."""
    if MARK in source[0]:
        source[0] = source[0].replace(MARK, sections())
