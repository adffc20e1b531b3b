"""The terminal that answers are drawn on: all is spelled by the unit system before it is drawn."""

from __future__ import annotations

from typing import Any

from rich.console import Console, Group
from rich.padding import Padding
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from towscope.words import spelled


def respell(shown: Any) -> Any:
    """Spell what is about to be drawn, before its width is measured."""
    if isinstance(shown, str):
        return spelled(shown)
    if isinstance(shown, Text):
        return _text(shown)
    if isinstance(shown, Panel):
        shown.renderable = respell(shown.renderable)
        shown.title, shown.subtitle = respell(shown.title), respell(shown.subtitle)
    elif isinstance(shown, Padding):
        shown.renderable = respell(shown.renderable)
    elif isinstance(shown, Group):
        shown._renderables = tuple(respell(each) for each in shown.renderables)
    elif isinstance(shown, Table):
        shown.title, shown.caption = respell(shown.title), respell(shown.caption)
        for column in shown.columns:
            column.header, column.footer = respell(column.header), respell(column.footer)
            column._cells = [respell(cell) for cell in column._cells]
    return shown


def _text(text: Text) -> Text:
    """Spell a styled text piece by piece, so that each piece keeps its style."""
    if spelled(text.plain) == text.plain:
        return text
    edges = sorted({0, len(text), *(e for span in text.spans for e in (span.start, span.end))})
    if len(edges) == 2 and not text.spans:
        pieces = [text.copy()]
    else:
        pieces = list(text.divide([e for e in edges if 0 < e < len(text)]))
    for piece in pieces:
        piece.plain, spans = spelled(piece.plain), piece.spans
        piece.spans = [span._replace(end=len(piece)) for span in spans]
    return Text("", justify=text.justify, overflow=text.overflow, no_wrap=text.no_wrap,
                style=text.style).append_text(Text("").join(pieces))  # fmt: skip


class Screen(Console):
    """A console that spells."""

    def __init__(self, *, stderr: bool = False) -> None:
        super().__init__(stderr=stderr, highlight=False, emoji=False, markup=False)

    def print(self, *objects: Any, **options: Any) -> None:
        """Spell and print."""
        super().print(*(respell(each) for each in objects), **options)
