"""Reader of a spread file that names what is wrong, and where."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files as package_files
from pathlib import Path

from towscope.errors import InputError, one_line
from towscope.files import read_text
from towscope.spreads.models import BoardPart, SpreadFile
from towscope.spreads.plan import Board
from towscope.tackle.models import Part
from towscope.tackle.reading import MAX_BYTES, checked, parsed

EXPECTED = "a spread file (TOML, UTF-8)"
DEMO = "demo"


class BoardStock(Part):
    """The built-in boards."""

    boards: dict[str, BoardPart]


def read(path: Path) -> tuple[SpreadFile, str]:
    """Read and check a spread file; the name "demo" is the one that comes with towscope.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    tuple
        What it says, and its name for messages.

    Raises
    ------
    InputError
        One line: the file, the place in it, what is wrong and what is expected.
    """
    if str(path) == DEMO and not path.exists():
        return check(demo_text(), "demo spread"), "demo spread"
    shown = one_line(path, 120)
    return check(read_text(path, expected=EXPECTED, limit=MAX_BYTES), shown), shown


def check(text: str, shown: str) -> SpreadFile:
    """Check the text of a spread file that goes by the name `shown`."""
    data = parsed(text, shown, EXPECTED)
    if "rods" not in data:
        raise InputError(
            f"{shown}: holds no rods; expected a spread file, with [boat] and a [rods.NAME] for "
            "each rod"
        )
    return checked(SpreadFile, data, text, shown)


def demo_text() -> str:
    """Give the text of the spread file that comes with towscope."""
    return package_files("towscope.spreads").joinpath("demo.toml").read_text("utf-8")


@cache
def stock_boards() -> dict[str, BoardPart]:
    """Give the built-in boards by name."""
    text = package_files("towscope.spreads").joinpath("boards.toml").read_text("utf-8")
    return checked(BoardStock, parsed(text, "boards", EXPECTED), text, "boards").boards


def board_of(
    own: Mapping[str, BoardPart], kind: str, line: float, height: float, place: str
) -> Board:
    """Find a board by name, among the crew's own or in the stock.

    Parameters
    ----------
    own : mapping
        The crew's own boards by name.
    kind : str
        Its name.
    line : float
        Line from the rod tip to it [m].
    height : float
        Of the rod tip above the water [m].
    place : str
        Where it is asked for, for messages.

    Returns
    -------
    Board
        The board.
    """
    known = {**stock_boards(), **own}
    if kind not in known:
        raise InputError(
            f'{place}.kind: no planer board called "{one_line(kind, 40)}"; known are: '
            f"{', '.join(sorted(known))}"
        )
    if line < height + 2.0:
        raise InputError(
            f"{place}.line: {line:.1f} m from a rod tip {height:.1f} m up takes no board out; "
            f"expected at least {height + 2.0:.1f} m"
        )
    part = known[kind]
    return Board(
        kind,
        line,
        part.lift_area,
        part.drag_area,
        part.mass,
        part.buoyancy,
        part.lift_sd,
        part.drag_sd,
    )
