"""Forms of a lake's answers: the depth of a place, a lake's figures, edges at a depth."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towscope.answer_forms import AnswerForms, frame
from towscope.bed.features import Edges, Feature, Structure
from towscope.files import writable, write_whole
from towscope.units import shown_units

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, repr=False)
class LakeDepth(AnswerForms):
    """Depth of a place [m], its standard error, and the span that holds it nine times in ten."""

    depth_m: float
    sd_m: float
    interval_90_m: tuple[float, float]

    def __repr__(self) -> str:
        shown = shown_units()
        span = shown.range(*self.interval_90_m, "length")
        return f"{shown.show(self.depth_m, 'length')} deep ({span}, 9 in 10)"


@dataclass(frozen=True, repr=False)
class LakeFacts(AnswerForms):
    """A lake in figures: its size, how it was sounded, and how wrong its bed may be.

    Attributes
    ----------
    name : str
        Its name.
    area_m2, volume_m3, max_depth_m, mean_depth_m : float
        Its size [m^2, m^3, m, m].
    deepest_sounding_m : float or None
        The deepest sounding [m]; the bed may guess a little deeper.
    beyond_m2 : float
        Where the bed is deeper than any sounding [m^2].
    ordered : bool
        Whether the soundings came in the order they were made in, on runs.
    cell_m : float
        Size of the cells of its bed [m].
    soundings, runs : int
        What it was made from.
    between_runs_m : float or None
        How far the runs of the sounder lie apart [m].
    left_out_rmse_m, band_90_coverage : float or None
        Where a run was left out: by how much the bed missed it [m], and the share of its
        soundings that the 90 % band held.
    latitude, longitude : float
        Its middle [degrees].
    sources, notes : list of str
        Files it came from; what was assumed or looks doubtful.
    dropped : dict of str to int
        How many soundings were dropped, by reason in words.
    """

    name: str
    area_m2: float
    volume_m3: float
    max_depth_m: float
    mean_depth_m: float
    cell_m: float
    latitude: float
    longitude: float
    deepest_sounding_m: float | None = None
    beyond_m2: float = 0.0
    ordered: bool = True
    soundings: int = 0
    runs: int = 0
    between_runs_m: float | None = None
    left_out_rmse_m: float | None = None
    band_90_coverage: float | None = None
    sources: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    dropped: dict[str, int] = field(default_factory=dict)

    @classmethod
    def of(cls, kept: dict[str, Any]) -> LakeFacts:
        """Take them from all that is kept of a lake."""
        from towscope.bed.cleaning import REASONS

        mine = {each.name: kept[each.name] for each in fields(cls) if each.name in kept}
        counts = kept.get("dropped_counts", {})
        mine["dropped"] = {f"{r}: {REASONS.get(r, r)}": n for r, n in counts.items()}
        return cls(**mine)

    def __repr__(self) -> str:
        shown = shown_units()
        return (
            f"{self.name}: {shown.show(self.area_m2, 'area', 1)} of water, to "
            f"{shown.show(self.max_depth_m, 'length')} deep, from {self.soundings:,} soundings"
        )


@dataclass(frozen=True, repr=False)
class LakeEdges:
    """Edges, points, inside turns, humps and flats at a depth of a lake, the best first.

    Attributes
    ----------
    lake : str
        Its name.
    depth_m : float
        The depth [m].
    edges, edge_length_m : int, float
        How many edges, and their length in all [m].
    features : list of Feature
        GeoJSON features (RFC 7946); figures in SI with their units in the keys.
    structure : Structure
        The same in the lake's own metres.
    """

    lake: str
    depth_m: float
    edges: int
    edge_length_m: float
    features: list[Feature]
    structure: Structure = field(compare=False)

    def to_dict(self) -> Edges:
        """Give it as one GeoJSON object: what ``towscope lake edges --json`` prints."""
        return {
            "type": "FeatureCollection",
            "lake": self.lake,
            "depth_m": self.depth_m,
            "edges": self.edges,
            "edge_length_m": self.edge_length_m,
            "features": self.features,
        }

    def to_pandas(self) -> pd.DataFrame:
        """Give it to pandas, one row for each feature; pandas must be installed."""
        return frame([each["properties"] for each in self.features])

    def save(self, path: str | Path) -> Path:
        """Write it as GeoJSON: ``.geojson`` or ``.json``."""
        file = writable(path, (".geojson", ".json"))
        write_whole(file, json.dumps(self.to_dict(), indent=1).encode() + b"\n")
        return file

    def __repr__(self) -> str:
        shown = shown_units()
        return (
            f"{self.lake} at {shown.show(self.depth_m, 'length', 1)}: {self.edges} edge"
            f"{'s' if self.edges != 1 else ''}, {shown.show(self.edge_length_m, 'length')} in all"
        )
