"""Form of what is planned for a lake: passes as words, rows, GPX, GeoJSON, a page or a map."""

from __future__ import annotations

import json
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from towscope.answer_forms import frame
from towscope.files import writable, write_whole
from towscope.formats.plain import plain
from towscope.passes import planning
from towscope.units import System, shown_units

if TYPE_CHECKING:
    import pandas as pd

Units = Literal["us", "metric"]
PASS_ENDINGS: Final = (".gpx", ".geojson", ".json", ".pdf", ".png", ".svg")


class PassPlan(planning.PlannedPasses):
    """Passes along the edges of a lake, as `Lake.passes` plans them."""

    def to_dict(self) -> dict[str, Any]:
        """Give it as the JSON object that ``towscope lake passes --json`` prints."""
        made: dict[str, Any] = plain(self.figures)
        return made

    def to_pandas(self) -> pd.DataFrame:
        """Give it to pandas, one row for each pass; pandas must be installed."""
        return frame(
            [
                {k: v for k, v in each.items() if not isinstance(v, (dict, list))}
                for each in self.figures["passes"]
            ]
        )

    def save(self, path: str | Path, *, units: Units | None = None) -> Path:
        """Write it: ``.gpx``, ``.geojson``, ``.json``, a page (``.pdf``), a map (``.png, .svg``).

        Parameters
        ----------
        path : str or Path
            The file.
        units : {"us", "metric"}, optional
            Of words and maps.
        """
        file = writable(path, PASS_ENDINGS)
        kind = file.suffix.lower()
        shown = shown_units(units)
        if kind in (".png", ".svg"):
            from towscope.sheets import lake_map
            from towscope.sheets.pass_map import map_of
            from towscope.sheets.pass_words import title

            only = 1 if len(self.passes) == 1 else None
            lake_map.save(map_of(self.bed, self.passes, title(self, shown), shown, only=only), file)
        else:
            write_whole(file, self._written(kind, shown))
        return file

    def _written(self, kind: str, shown: System) -> bytes:
        from towscope.passes import files

        if kind == ".gpx":
            return files.to_gpx(self.passes, self.bed.place, self.lake, shown).encode() + b"\n"
        if kind == ".pdf":
            from towscope.sheets.passes import page

            return page(self, shown)
        if kind == ".json":
            return json.dumps(self.to_dict(), indent=1, allow_nan=False).encode() + b"\n"
        lines = files.to_geojson(self.passes, self.bed.place, self.lake, self.figures)
        return json.dumps(lines, allow_nan=False).encode() + b"\n"

    def __repr__(self) -> str:
        from towscope.sheets.pass_words import head, title, verdict

        shown = shown_units()
        lines = [title(self, shown)]
        for number, each in enumerate(self.passes, 1):
            said = verdict(each.risk, self.ask.wishes, shown)
            lines.append(f"  {number}. {head(each, shown)}. {said}")
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        return f"<pre>{escape(repr(self))}</pre>"
