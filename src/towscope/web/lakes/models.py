"""What is asked and told about lakes and passes."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

Finite = Annotated[float, Field(allow_inf_nan=False)]
SystemName = Literal["us", "metric"]


class LakeFacts(BaseModel):
    """A lake that is kept.

    Attributes
    ----------
    name : str
        Its name.
    area_m2, volume_m3, max_depth_m, mean_depth_m : float
        Its figures [m^2, m^3, m, m].
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
    deepest_sounding_m: float | None = None
    beyond_m2: float = 0.0
    ordered: bool = True
    cell_m: float
    soundings: int = 0
    runs: int = 0
    between_runs_m: float | None = None
    left_out_rmse_m: float | None = None
    band_90_coverage: float | None = None
    latitude: float
    longitude: float
    sources: list[str] = []
    notes: list[str] = []
    dropped: dict[str, int] = {}


class Lakes(BaseModel):
    """The lakes that are kept, and the one that the boat is on ("" where none is chosen)."""

    lakes: list[LakeFacts]
    current: str


class Feature(BaseModel):
    """A GeoJSON feature; its ``properties.kind`` says what it is."""

    type: Literal["Feature"] = "Feature"
    geometry: dict[str, Any]
    properties: dict[str, Any]


class LakeMap(BaseModel):
    """The map of a lake: a GeoJSON FeatureCollection in longitude, latitude (WGS 84).

    Attributes
    ----------
    features : list of Feature
        Of the kinds "water", "deeper" (all that lies deeper than ``depth_m``) and "contour"; and
        with a depth "edge", "point", "inside turn", "hump" and "flat".
    bbox : list of float
        West, south, east, north [degrees].
    units, unit : str
        Whose round depths the contours stand at, and their unit.
    deepest_m, step_m, thinned_to_m : float
        Greatest depth, depth between contours, how far a line may be off by having few points [m].
    """

    type: Literal["FeatureCollection"] = "FeatureCollection"
    lake: str
    bbox: list[float]
    units: SystemName
    unit: str
    deepest_m: float
    step_m: float
    thinned_to_m: float
    features: list[Feature]


class Edges(BaseModel):
    """Edges, points, inside turns, humps and flats at a depth, as ``towscope lake edges`` has them.

    Attributes
    ----------
    depth_m : float
        The depth [m].
    edges, edge_length_m : int, float
        How many edges, and their length in all [m].
    features : list of Feature
        GeoJSON features, edges first, the best first.
    """

    type: Literal["FeatureCollection"] = "FeatureCollection"
    lake: str
    depth_m: float
    edges: int
    edge_length_m: float
    features: list[Feature]


class Depth(BaseModel):
    """Depth of a place [m], its standard error, and the span that holds it nine times in ten."""

    depth_m: float
    sd_m: float
    interval_90_m: tuple[float, float]


class Built(BaseModel):
    """What an upload came to.

    Attributes
    ----------
    lake : LakeFacts
        The lake.
    rows : list of Dropped
        The first soundings that were dropped.
    """

    lake: LakeFacts
    rows: list[Dropped]


class Dropped(BaseModel):
    """One sounding that was dropped: its line in the file, the reason, and its depth [m]."""

    row: int
    reason: str
    depth_m: float | None = None


class PassesAsk(BaseModel):
    """What passes are wanted.

    Attributes
    ----------
    depth_m : float
        Depth of the edge [m].
    off_bottom_m : float
        Height of the lure above the bottom [m].
    rig : str
        The rig.
    lure : str
        Another lure on it; "" for its own.
    speed_m_s : float
        Speed over ground [m/s].
    wind_from_deg, wind_m_s : float
        Where the wind blows from, from true north [degrees], and how hard [m/s].
    count : int
        Most passes.
    safer : bool
        Whether to raise the lure until a bottom hit is no likelier than `risk`.
    risk : float
        A bottom hit likelier than this is not called safe.
    outside_m : float
        How far to the deep side of the edge the lure is to run [m].
    most_out_m : float or None
        Most line past the rod tip [m].
    current_m_s, current_to_deg : float
        Current: its speed [m/s], and where it goes, from true north [degrees].
    tip_ahead_m, tip_starboard_m : float
        Rod tip from the receiver [m].
    uncalibrated : bool
        Whether to leave out what readings have taught.
    units : str
        Whose round let-outs are wanted: "us" (5 ft) or "metric" (1 m); the page is in these too.
    """

    depth_m: Finite = Field(gt=0.0, le=300.0)
    off_bottom_m: Finite = Field(ge=0.05, le=100.0)
    rig: str = Field(min_length=1, max_length=200)
    lure: str = Field("", max_length=200)
    speed_m_s: Finite = Field(ge=0.1, le=5.0)
    wind_from_deg: Finite = Field(0.0, ge=0.0, le=360.0)
    wind_m_s: Finite = Field(0.0, ge=0.0, le=40.0)
    count: int = Field(3, ge=1, le=12)
    safer: bool = False
    risk: Finite = Field(0.10, ge=0.005, le=0.9)
    outside_m: Finite = Field(0.0, ge=0.0, le=100.0)
    most_out_m: Finite | None = Field(None, ge=5.0, le=1000.0)
    current_m_s: Finite = Field(0.0, ge=0.0, le=3.0)
    current_to_deg: Finite = Field(0.0, ge=0.0, le=360.0)
    tip_ahead_m: Finite = Field(0.0, ge=-50.0, le=50.0)
    tip_starboard_m: Finite = Field(0.0, ge=-50.0, le=50.0)
    uncalibrated: bool = False
    units: SystemName = "us"


class PassBrief(BaseModel):
    """One pass of a plan, in short.

    Attributes
    ----------
    number : int
        Its number in the plan.
    length_m, heading_deg, minutes : float
        Length of edge [m], mean direction [degrees from north], how long it takes [min].
    wind, reason : str
        "into", "with", "across" or "calm"; and why this way, in words.
    deeper_side : str
        On which hand the deep water lies: "port" or "starboard".
    safe : bool
        Whether it may be called safe.
    bottom_hit : float
        Probability that lure or line hits bottom, 0 to 1.
    """

    number: int
    length_m: float
    heading_deg: float
    minutes: float
    wind: str
    reason: str
    deeper_side: Literal["port", "starboard"]
    safe: bool
    bottom_hit: float


class PlanBrief(BaseModel):
    """A kept plan, in short.

    Attributes
    ----------
    id : str
        Its name.
    made : datetime
        When it was made.
    asked : PassesAsk
        What was asked.
    calibrated : bool
        Whether readings had taught the rig something then.
    same_bed : bool
        Whether the lake is still as it was then.
    passes : list of PassBrief
        Its passes, in the order to run them.
    """

    id: str
    made: datetime
    asked: PassesAsk
    calibrated: bool
    same_bed: bool = True
    passes: list[PassBrief]


class Plans(BaseModel):
    """The plans kept for a lake, the newest first."""

    plans: list[PlanBrief]


class PassWords(BaseModel):
    """A pass in words: head, why this way, safe or not, the risk, the way round, what to do when.

    Each of ``steps`` is how far along, when, and what to do.
    """

    head: str
    why: str
    verdict: str
    risk: str
    round: str
    steps: list[tuple[str, str, str]]


class PlanWords(BaseModel):
    """A plan in words of one system of units."""

    passes: list[PassWords]
    notes: list[str]


class Todo(BaseModel):
    """One thing to do at one place of a pass.

    Attributes
    ----------
    kind : str
        "start", "line" (have so much line out from here on), "on edge", "off edge" (the lure comes
        on, leaves the edge), "turn" or "end".
    run_m, time_s : float
        How far along the boat's way [m], and when [s from its start].
    boat_lat, boat_lon : float
        Where the boat is then [degrees].
    let_out_m, speed_m_s : float
        Line to have out, speed to go from here on [m, m/s].
    """

    kind: Literal["start", "line", "on edge", "off edge", "turn", "end"]
    run_m: float
    time_s: float
    boat_lat: float
    boat_lon: float
    let_out_m: float
    speed_m_s: float


class Track(BaseModel):
    """Boat and lure along a pass, moment by moment."""

    time_s: list[float]
    boat_lat: list[float]
    boat_lon: list[float]
    speed_m_s: list[float]
    let_out_m: list[float]
    lure_lat: list[float]
    lure_lon: list[float]
    depth_m: list[float]
    height_m: list[float] | None = None


class Risk(BaseModel):
    """What may go wrong on a way; as ``towscope lake passes --json`` has it."""

    safe: bool
    bottom_hit: float
    least_off_bottom_m: float
    interval_90_m: tuple[float, float]
    worst_lat: float
    worst_lon: float
    worst_hit: float


class Round(BaseModel):
    """The way round to the next pass."""

    length_m: float
    radius_m: float
    first: str
    let_out_m: float
    speed_m_s: float
    risk: Risk | None = None
    track: Track


class PassWhole(BaseModel):
    """One pass, as ``towscope lake passes --json`` has it."""

    number: int
    length_m: float
    edge_depth_m: float
    heading_deg: float
    wind: str
    reason: str
    off_bottom_m: float
    lure_depth_m: tuple[float, float]
    lure_height_m: tuple[float, float]
    lure_off_line_m: float
    share_within_0_3_m: float
    let_out_m: tuple[float, float]
    schedule: list[Todo]
    risk: Risk
    track: Track
    round: Round | None = None


class PlanWhole(BaseModel):
    """A kept plan: the figures of its passes, and the words for them in both systems of units."""

    id: str
    made: datetime
    lake: str
    asked: PassesAsk
    calibrated: bool
    left_out: list[str]
    passes: list[PassWhole]
    words: dict[SystemName, PlanWords]


Built.model_rebuild()
