"""Forms that every answer takes: a JSON object, a notebook's table, columns for pandas."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from html import escape
from typing import TYPE_CHECKING, Any

from towscope.errors import InputError
from towscope.formats.plain import plain
from towscope.units import System, shown_units

if TYPE_CHECKING:
    import numpy.typing as npt
    import pandas as pd
    import pyarrow as pa


def frame(rows: Any) -> pd.DataFrame:
    """Give rows, or columns by name, to pandas.

    Raises
    ------
    InputError
        Where pandas is not installed.
    """
    try:
        import pandas as pd
    except ImportError:
        raise InputError("to_pandas needs pandas: pip install pandas") from None
    return pd.DataFrame(rows)


class AnswerForms:
    """What a dataclass gains that is an answer: ``--json``'s object, and a notebook's table.

    The class says itself in one line by its ``__repr__``, and gives `_shown` for the table. A field
    whose metadata says ``{"json": False}`` stays out of the object, as does one that says
    ``{"json": "asked"}`` where it is None.
    """

    def to_dict(self) -> dict[str, Any]:
        """Give it as the JSON object that the command prints: SI, null for what has no value."""
        told = {}
        for each in fields(self):  # type: ignore[arg-type]
            kept, value = each.metadata.get("json", True), getattr(self, each.name)
            if kept is True or (kept == "asked" and value is not None):
                told[each.name] = value
        made: dict[str, Any] = plain(told)
        return made

    def _shown(self, units: System) -> Iterable[tuple[str, str]]:
        """Give what a notebook shows: names and figures in words."""
        return ()

    def _repr_html_(self) -> str:
        """Give it to a notebook as a small table."""
        rows = "".join(
            f"<tr><th>{escape(name)}</th><td>{escape(said)}</td></tr>"
            for name, said in self._shown(shown_units())
        )
        return f"<table><caption>{escape(repr(self))}</caption>{rows}</table>"


class TableForms(AnswerForms):
    """What an answer of many rows gains besides: pandas and Arrow, from its `columns`."""

    def columns(self) -> Mapping[str, Sequence[object] | npt.NDArray[Any]]:
        """Give its columns by name, all of one length, SI."""
        return {each.name: getattr(self, each.name) for each in fields(self)}  # type: ignore[arg-type]

    def to_pandas(self) -> pd.DataFrame:
        """Give it to pandas, which must be installed.

        Raises
        ------
        InputError
            Where it is not.
        """
        return frame(dict(self.columns()))

    def to_arrow(self) -> pa.Table:
        """Give it to Arrow; pyarrow must be installed.

        Raises
        ------
        InputError
            Where it is not.
        """
        try:
            import pyarrow as pa
        except ImportError:
            raise InputError("to_arrow needs pyarrow: pip install pyarrow") from None
        return pa.table(dict(self.columns()))
