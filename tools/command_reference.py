"""Write docs/commands.md's blocks from the commands themselves: usage, help, arguments, options.

The page is written by hand but for what stands between `<!-- towscope NAME -->` and `<!-- end -->`:
`python tools/command_reference.py` fills that in anew. `tests/test_command_reference.py` holds the
page to it, and prints the difference.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer.main

from towscope.cli import ROOMS, build

PAGE = Path(__file__).resolve().parent.parent / "docs" / "commands.md"
BLOCK = re.compile(r"<!-- (towscope [a-z ]+?) -->\n.*?<!-- end -->", re.DOTALL)


def commands() -> dict[str, Any]:
    """Give every command by its full name, in the order of the help page; groups not."""
    return dict(_below(typer.main.get_command(build(ROOMS)), "towscope"))


def _below(command: Any, name: str) -> Iterator[tuple[str, Any]]:
    inner = getattr(command, "commands", None)
    if inner is None:
        yield name, command
        return
    for key, each in inner.items():
        yield from _below(each, f"{name} {key}")


def block(name: str, command: Any) -> str:
    """Give what a command says of itself, as Markdown."""
    context = command.context_class(command, info_name=name)
    usage = " ".join((name, *command.collect_usage_pieces(context)))
    parts = [f"```text\n{usage}\n```", *(command.help or "").split("\n\n")]
    items = []
    for each in command.params:
        record = each.get_help_record(context)
        if record is None:  # hidden
            continue
        words, said = record
        items.append(f"- `{words}`" + (f": {_plain(said)}" if said else ""))
    parts.append("\n".join(items))
    return "\n\n".join(part.strip() for part in parts)


def _plain(said: str) -> str:
    """Set apart what the help adds by itself, and what Markdown would read as its own."""
    said = " ".join(said.split())
    said = re.sub(r"\s*\[((?:env var|default|required|x[<>]).*)\]$", r" (\1)", said)
    return re.sub(r"(?<!`)\b([A-Z]+=[A-Z]+(?:,[a-z]+=[A-Z]+)*)", r"`\1`", said)


def filled(page: str) -> str:
    """Give the page with its blocks written anew.

    Raises
    ------
    SystemExit
        Where a command has no block on the page, or a block no command.
    """
    known = commands()
    there = BLOCK.findall(page)
    lacking = [name for name in known if name not in there]
    gone = [name for name in there if name not in known]
    if lacking or gone:
        raise SystemExit(
            "docs/commands.md: "
            + "; ".join(
                [f"add a section with <!-- {name} --> and <!-- end -->" for name in lacking]
                + [f"take out the section of {name}: there is no such command" for name in gone]
            )
        )
    return BLOCK.sub(
        lambda found: f"<!-- {found[1]} -->\n{block(found[1], known[found[1]])}\n<!-- end -->", page
    )


if __name__ == "__main__":
    before = PAGE.read_text(encoding="utf-8")
    after = filled(before)
    if after != before:
        PAGE.write_text(after, encoding="utf-8")
    print(f"{PAGE.name}: {'written anew' if after != before else 'as it was'}", file=sys.stderr)
