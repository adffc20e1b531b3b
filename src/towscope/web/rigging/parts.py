"""Rigs aboard, and the parts that they can be made of, in plain words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from towscope.errors import InputError, NoAnswer
from towscope.sheets.cautions import LEAD, LINE
from towscope.tackle.families import LINES, LURES, line_words, lure_words, make_of, size_word
from towscope.tackle.models import TackleFile
from towscope.tackle.reading import checked
from towscope.tackle.shelf import Shelf
from towscope.tackle.shelf import stock as built_in
from towscope.web.rigging.models import (
    LineGroup,
    LineShown,
    LureGroup,
    LureShown,
    PieceShown,
    ReelShown,
    RigIn,
    Rigs,
    RigShown,
    Stock,
    StockBeginning,
)

if TYPE_CHECKING:
    from towscope.towing.tow import Tow

OWN = ("own", "Your own", "from your tackle file")
UNNAMED = "this-rig"


def is_own(shelf: Shelf, kind: str, name: str) -> bool:
    """Tell whether a thing comes from a file of the user's."""
    return shelf.origin.get(f"{kind}.{name}", "stock") != "stock"


def pieces_of(shelf: Shelf, tow: Tow) -> list[PieceShown]:
    """Give the pieces of a rig made ready, from the lure up."""
    shown = []
    for name, row, color, strength in zip(
        tow.names, tow.pieces, tow.color_length, tow.strength, strict=True
    ):
        length = float(row[0])
        coded = math.isfinite(color)
        shown.append(
            PieceShown(
                line=name,
                words=line_words(name),
                length_m=length,
                colors=length / float(color) if coded else None,
                color_length_m=float(color) if coded else None,
                strength_n=float(strength) if math.isfinite(strength) else None,
            )
        )
    return shown


def rig_shown(shelf: Shelf, name: str, readings: int = 0) -> RigShown:
    """Give one rig as it is kept; where it cannot be towed, why."""
    rig = shelf.rig(name)
    own = is_own(shelf, "rigs", name)
    shown = RigShown(
        name=name,
        title=shelf.title(name),
        own=own,
        note=rig.note,
        lure=rig.lure,
        tip_height_m=rig.tip_height,
        reel=rig.reel,
        counter_factor=rig.counter_factor,
        readings=readings,
    )
    try:
        lure = shelf.lure(rig.lure)
        shown.lure_words = lure.name or lure_words(rig.lure, lure.body)
        tow = shelf.tow(name)
    except (InputError, NoAnswer) as error:
        shown.trouble = str(error)
        return shown
    shown.pieces = pieces_of(shelf, tow)
    shown.length_m = tow.length
    return shown


def rigs(shelf: Shelf, read: Iterable[str], lines_out: Callable[[], bool]) -> Rigs:
    """Give all rigs, the user's own first.

    Parameters
    ----------
    shelf : Shelf
        The tackle.
    read : iterable of str
        A rig's name for each reading that is kept.
    lines_out : callable
        Tells whether a line is out; asked only where no rig is kept.
    """
    counts: dict[str, int] = {}
    for name in read:
        counts[name] = counts.get(name, 0) + 1
    shown = [rig_shown(shelf, name, counts.get(name, 0)) for name in shelf.rigs]
    shown.sort(key=lambda rig: not rig.own)
    kept = sum(rig.own for rig in shown)
    return Rigs(rigs=shown, kept=kept, begin=kept == 0 and not lines_out())


def stock(shelf: Shelf) -> Stock:
    """Give all parts, in groups with plain words for choosing."""
    return Stock(
        lines=_lines(shelf),
        lures=_lures(shelf),
        reels=[
            ReelShown(name=name, own=is_own(shelf, "reels", name), capacity=reel.capacity)
            for name, reel in shelf.reels.items()
        ],
        start=_start(),
        lead=LEAD,
        hooks=LINE,
    )


def _start() -> StockBeginning:
    """Give the stock's first rig, whatever files lie over it, as what to begin from."""
    shelf = built_in()
    tow = shelf.tow("demo")
    leader, main, backing = pieces_of(shelf, tow)
    return StockBeginning(
        leader=leader, main=main, backing=backing, lure=shelf.rig("demo").lure, tip_height_m=tow.tip
    )


def _lines(shelf: Shelf) -> list[LineGroup]:
    groups = {k: LineGroup(key=k, words=w, about=a, lines=[]) for k, (w, a) in LINES.items()}
    own = LineGroup(key=OWN[0], words=OWN[1], about=OWN[2], lines=[])
    for name, line in shelf.lines.items():
        mine = is_own(shelf, "lines", name)
        made = None if mine else make_of(name)
        shown = LineShown(
            name=name,
            words=name if made is None else made[1],
            own=mine,
            diameter_m=line.diameter,
            mass_kg_m=line.mass,
            strength_n=line.strength,
            color_length_m=line.color_length,
        )
        (own if made is None else groups[made[0]]).lines.append(shown)
    return [g for g in (own, *groups.values()) if g.lines]


def _lures(shelf: Shelf) -> list[LureGroup]:
    groups = {k: LureGroup(key=k, words=w, about=a, lures=[]) for k, (w, a) in LURES.items()}
    own = LureGroup(key=OWN[0], words=OWN[1], about=OWN[2], lures=[])
    for name, lure in shelf.lures.items():
        mine = is_own(shelf, "lures", name)
        rating = lure.rating
        shown = LureShown(
            name=name,
            words=lure.name or (name if mine else size_word(name) or name),
            own=mine,
            note=lure.note,
            colour=lure.colour,
            size_m=lure.size,
            rated_depth_m=None if rating is None else rating.depth,
            rated_let_out_m=None if rating is None else rating.let_out,
            rated_speed_m_s=None if rating is None else rating.speed,
            floats=lure.weight_in_water < 0.0,
        )
        (own if mine else groups[lure.body]).lures.append(shown)
    return [g for g in (own, *groups.values()) if g.lures]


def table_of(rig: RigIn) -> dict[str, Any]:
    """Give a rig as a table of a tackle file; what is usual is left out."""
    table: dict[str, Any] = {
        **({"name": rig.title} if rig.title.strip() else {}),
        "lure": rig.lure,
        "tip_height": rig.tip_height,
        "line": [{"line": p.line, "length": p.length} for p in rig.line],
    }
    if rig.reel:
        table["reel"] = rig.reel
    if rig.counter_factor != 1.0:
        table["counter_factor"] = rig.counter_factor
    if rig.note:
        table["note"] = rig.note
    return table


def laid_over(shelf: Shelf, rig: RigIn, name: str = UNNAMED) -> Shelf:
    """Lay a rig and parts of its own over the tackle, kept or not.

    Raises
    ------
    InputError
        One line: the place in the rig, what is wrong and what is expected.
    """
    data = {"rigs": {name: table_of(rig)}, "lures": rig.lures, "lines": rig.lines}
    try:
        shelf = shelf.over(checked(TackleFile, data, "", "the rig"), "the rig")
        shelf.tow(name)
    except InputError as error:
        raise InputError(in_words(str(error), name)) from None
    return shelf


def in_words(text: str, name: str) -> str:
    """Say a place in a tackle table as people would, who see no table."""
    for place, words in (
        (f"the rig: rigs.{name}.", ""),
        (f"the rig: rigs.{name}: ", ""),
        ("the rig: lures.", "the lure "),
        ("the rig: lines.", "the line "),
        ("the rig: ", ""),
    ):
        if text.startswith(place):
            text = words + text.removeprefix(place)
            break
    for key, words in (
        ("tip_height", "rod tip"), ("line.", "line "), (".length", ", length"),
        (".rating.let_out", ", rated let-out"), (".rating.depth", ", rated depth"),
        (".rating.speed", ", rated speed"), (".rating.line", ", rated line"),
        (".rating", ", rating"),
    ):  # fmt: skip
        head, colon, tail = text.partition(":")
        text = head.replace(key, words) + colon + tail if colon else text
    return _counted_from_one(text)


def _counted_from_one(text: str) -> str:
    head, colon, tail = text.partition(":")
    words = head.split(" ")
    if len(words) > 1 and words[0] == "line" and words[1].rstrip(",").split(".")[0].isdigit():
        number = words[1].rstrip(",").split(".")[0]
        rest = words[1][len(number) :].removeprefix(".line")
        head = " ".join(["piece", f"{int(number) + 1}{rest}", *words[2:]])
    return head + colon + tail
