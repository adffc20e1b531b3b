"""Shapes of what the app says and hears of rigs, SI unless text."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from towscope.answers.steady import RigAnswer
from towscope.web.answer_keys import keys_of

Figure = Annotated[float, Field(allow_inf_nan=False)]
Word = Annotated[str, Field(max_length=80)]
Kind = Literal[
    "bottom hit", "soft bottom hit", "first bottom hit", "miss", "recorder", "sonar mark"
]


class _In(BaseModel):
    model_config = ConfigDict(extra="forbid")


class PieceIn(_In):
    """A piece of line as a tackle file says it: ``thin-core-18``, ``10 colors``."""

    line: Word
    length: Word


class RigIn(_In):
    """A rig as a tackle file says it, from the lure up.

    Attributes
    ----------
    title : str
        What the crew calls it, as they write it.
    lure, tip_height, line, reel, counter_factor, note : ...
        As in a tackle file; lengths are text with a unit, or colours.
    lures, lines : dict
        Lures and lines of its own by name, as tables of a tackle file.
    """

    title: Annotated[str, Field(max_length=60)] = ""
    lure: Word
    tip_height: Word = "3 ft"
    line: Annotated[list[PieceIn], Field(min_length=1, max_length=40)]
    reel: Word | None = None
    counter_factor: Figure = 1.0
    note: Annotated[str, Field(max_length=300)] = ""
    lures: Annotated[dict[str, dict[str, Any]], Field(max_length=5)] = {}
    lines: Annotated[dict[str, dict[str, Any]], Field(max_length=10)] = {}


class PieceShown(BaseModel):
    """A piece of line on a rig.

    Attributes
    ----------
    words : str
        What it is: "18 lb thin lead core".
    length_m : float
        Its length [m].
    colors, color_length_m : float or None
        The same in colours, and the length of one [m]; None where it is not colour-coded.
    strength_n : float or None
        Breaking strength [N].
    """

    line: str
    words: str
    length_m: float
    colors: float | None = None
    color_length_m: float | None = None
    strength_n: float | None = None


class RigShown(BaseModel):
    """A rig that is aboard.

    Attributes
    ----------
    name : str
        Its key: what commands and files call it.
    title : str
        What the crew calls it, as they wrote it.
    own : bool
        Whether it is the user's; else it is an example of the stock's.
    pieces : list of PieceShown
        From the lure up.
    readings : int
        Readings of this very rig that are kept.
    trouble : str
        Why it cannot be towed; "" where it can.
    """

    name: str
    title: str
    own: bool
    note: str = ""
    lure: str
    lure_words: str = ""
    tip_height_m: float
    reel: str | None = None
    counter_factor: float = 1.0
    pieces: list[PieceShown] = []
    length_m: float = 0.0
    readings: int = 0
    trouble: str = ""


class Rigs(BaseModel):
    """All rigs aboard.

    Attributes
    ----------
    kept : int
        How many are the user's own.
    begin : bool
        Whether a crew had best begin with a rig: none is kept, and no line is out today.
    """

    rigs: list[RigShown]
    kept: int
    begin: bool


class LineShown(BaseModel):
    """A line to choose: `words` tells it apart within its group ("18 lb")."""

    name: str
    words: str
    own: bool
    diameter_m: float
    mass_kg_m: float
    strength_n: float | None = None
    color_length_m: float | None = None


class LureShown(BaseModel):
    """A lure to choose.

    Attributes
    ----------
    words : str
        What tells it apart within its group: "small".
    size_m : float or None
        Its length [m].
    rated_depth_m, rated_let_out_m, rated_speed_m_s : float or None
        How deep it is said to run, on how much line, how fast [m, m, m/s].
    """

    name: str
    words: str
    own: bool
    note: str = ""
    colour: str = ""
    size_m: float | None = None
    rated_depth_m: float | None = None
    rated_let_out_m: float | None = None
    rated_speed_m_s: float | None = None
    floats: bool = False


class ReelShown(BaseModel):
    """A reel to choose."""

    name: str
    own: bool
    capacity: str


class LineGroup(BaseModel):
    """Lines of one make, in plain words."""

    key: str
    words: str
    about: str
    lines: list[LineShown]


class LureGroup(BaseModel):
    """Lures of one kind, in plain words."""

    key: str
    words: str
    about: str
    lures: list[LureShown]


class StockBeginning(BaseModel):
    """What a crew without files begins from: the stock's own first rig."""

    leader: PieceShown
    main: PieceShown
    backing: PieceShown
    lure: str
    tip_height_m: float


class Stock(BaseModel):
    """All that rigs can be made of, and what to mind with it."""

    lines: list[LineGroup]
    lures: list[LureGroup]
    reels: list[ReelShown]
    start: StockBeginning
    lead: str
    hooks: str


class Carried(BaseModel):
    """All tackle, for a phone to answer by itself.

    Attributes
    ----------
    engine : dict
        As `towscope.answers.tackle_data` gives it.
    """

    engine: dict[str, Any]
    rigs: Rigs
    stock: Stock


class Layer(_In):
    """Current at a depth: with the boat and to starboard of it [m/s]."""

    depth_m: Figure = 0.0
    along_m_s: Figure = 0.0
    across_m_s: Figure = 0.0


class Ask(_In):
    """A question to a rig: how much line for a depth, or how deep with so much line.

    Attributes
    ----------
    rig : str
        A rig by name, or else `spec`.
    spec : RigIn or None
        A rig in full, kept or not.
    lure : str
        Another lure on it; "" for its own.
    depth_m, let_out_m : float or None
        One of them [m].
    water_c : float or None
        Temperature of the water [degrees Celsius]; None for the tackle's.
    uncalibrated : bool
        Whether to leave out what readings have taught.
    step_speed_m_s, step_let_out_m : float
        Small changes that the crew can make, as its units go [m/s, m].
    units : str
        "us" or "metric", for what is said in words.
    """

    rig: Word = ""
    spec: RigIn | None = None
    lure: Word = ""
    speed_m_s: Figure
    depth_m: Figure | None = None
    let_out_m: Figure | None = None
    current: Annotated[list[Layer], Field(max_length=20)] = []
    water_c: Figure | None = None
    uncalibrated: bool = False
    step_speed_m_s: Annotated[float, Field(ge=0.02, le=0.5, allow_inf_nan=False)] = 0.089408
    step_let_out_m: Annotated[float, Field(ge=0.5, le=20.0, allow_inf_nan=False)] = 3.048
    units: Literal["us", "metric"] = "us"


class Counted(BaseModel):
    """A let-out as it is counted: line before the first colour, colours, line past the last [m]."""

    before_m: float
    colors: float | None
    after_m: float
    color_length_m: float | None
    words: str


class Nearby(BaseModel):
    """Depth after one small change [m]; None where there is no such run."""

    slower_m: float | None
    faster_m: float | None
    less_m: float | None
    more_m: float | None


class DepthsAround(BaseModel):
    """Depths by speed (across) and let-out (down) about the answer [m]."""

    speeds_m_s: list[float]
    let_outs_m: list[float]
    depths_m: list[list[float | None]]


class Told(keys_of(RigAnswer)):  # type: ignore[misc]
    """What a rig answers; the first keys are those of ``towscope letout --json``.

    Attributes
    ----------
    shape_m : list of (float, float, float)
        The line from the lure to the rod tip: length from the lure, distance behind the tip, and
        depth below the surface [m]; the tip is above the water.
    mind : list of str
        What to take care of.
    made_ms : float
        How long it took to work out [ms].
    """

    # NaN in the library, null in JSON
    let_out_90_m: tuple[float | None, float | None]
    strength_share: float | None
    count: Counted
    nearby: Nearby
    around: DepthsAround
    shape_m: list[tuple[float, float, float]]
    pieces: list[PieceShown]
    mind: list[str]
    made_ms: float


class ReadingShown(BaseModel):
    """A reading that is kept: what was read, and when."""

    id: str
    kind: str
    lure: str
    let_out_m: float
    speed_m_s: float
    depth_m: float
    error_m: float
    day: str
    time: float | None


class BottomHitShown(BaseModel):
    """A bottom hit in the journal on this rig.

    Attributes
    ----------
    depth_m : float or None
        The bottom as it was read under the boat [m].
    speed_m_s : float or None
        The boat's speed then, over ground [m/s].
    kept : bool
        Whether it is among the readings already.
    trouble : str
        Why it cannot be used; "" where it can.
    """

    id: str
    at: datetime
    day: str
    rod: str
    lure: str
    let_out_m: float | None
    depth_m: float | None
    speed_m_s: float | None
    kept: bool
    trouble: str


class RigReadings(BaseModel):
    """Readings of a rig that are kept, and bottom hits in the journal that could be."""

    kept: list[ReadingShown]
    bottom_hits: list[BottomHitShown]
    others: int


class ReadingIn(_In):
    """A reading typed in; `error_m` is left to what is usual for its kind."""

    kind: Kind = "bottom hit"
    let_out_m: Figure
    speed_m_s: Figure
    depth_m: Figure
    error_m: Figure | None = None
    at: datetime | None = None


class CalibrateAsk(_In):
    """Which readings to weigh with those that are kept.

    Attributes
    ----------
    bottom_hits : list of str
        Entries of the journal by their ids.
    typed : list of ReadingIn
        Readings typed in.
    deepest_m : float
        Deepest bottom that the crew can take a reading over next [m].
    units : str
        For what is said in words.
    """

    bottom_hits: Annotated[list[str], Field(max_length=500)] = []
    typed: Annotated[list[ReadingIn], Field(max_length=200)] = []
    deepest_m: Annotated[float, Field(ge=1.0, le=300.0, allow_inf_nan=False)] = 18.288
    units: Literal["us", "metric"] = "us"


class KeepAsk(_In):
    """Which weighing to keep: the task that did it."""

    job: str


class Done(BaseModel):
    """What was done, in words."""

    done: str
