"""The run at one moment as data for a screen: boat, bottom, lines, what is coming.

Distances along are counted from the boat's place along the way it goes: ahead of it positive,
behind it, back along its wake, negative. Depths are below the surface, positive down.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel

Band = tuple[float, float]


class BoatNow(BaseModel):
    """The boat.

    Attributes
    ----------
    at : datetime
        When it was there.
    lat, lon : float or None
        Where [degrees]; None where no fix has come yet.
    course_deg : float or None
        Course over ground, from true north [degrees].
    speed_m_s : float or None
        Speed that the lines are towed at [m/s]; `speed_is` says what it is.
    speed_is : str
        "through water" where a sensor gives it, else "over ground" ("over ground, current taken
        off" where the crew has stated one).
    ground_speed_m_s : float or None
        Speed over ground [m/s].
    depth_m, depth_from : float or None, str
        Depth of water under the boat [m], and who says so: "sounder", "lake" or "".
    source : str
        What says where the boat is, in words: "demo boat", "TCP 10.0.0.5:10110".
    age_s : float or None
        Age of the last fix [s].
    """

    at: datetime
    lat: float | None = None
    lon: float | None = None
    course_deg: float | None = None
    speed_m_s: float | None = None
    speed_is: str = "over ground"
    ground_speed_m_s: float | None = None
    depth_m: float | None = None
    depth_from: Literal["sounder", "lake", ""] = ""
    source: str = ""
    age_s: float | None = None


class Bottom(BaseModel):
    """The bottom along the way, behind and ahead.

    Attributes
    ----------
    along_m : list of float
        Distance along, rising [m].
    depth_m, sd_m : list of float or None
        Depth, and its standard error [m]; None where the bottom is not known.
    """

    along_m: list[float] = []
    depth_m: list[float | None] = []
    sd_m: list[float | None] = []


class Ahead(BaseModel):
    """Where a lure will run if speed, course and let-out hold.

    Attributes
    ----------
    time_s : list of float
        Seconds from now.
    along_m : list of float
        Distance along at that time, from where the boat is now [m].
    depth_m, low_m, high_m : list of float
        Depth, and the span that holds it with 90 % probability [m].
    bottom_m : list of float or None
        Depth of the bottom under the lure then [m].
    lat, lon : list of float
        Where that is [degrees].
    """

    time_s: list[float] = []
    along_m: list[float] = []
    depth_m: list[float] = []
    low_m: list[float] = []
    high_m: list[float] = []
    bottom_m: list[float | None] = []
    lat: list[float] = []
    lon: list[float] = []


class Change(BaseModel):
    """One thing to do.

    Attributes
    ----------
    kind : str
        "reel", "let out", "speed", "turn" or "none".
    let_out_m : float or None
        Line to have out then [m].
    by_m : float or None
        Line to let out (positive) or reel in (negative) [m].
    colors_out : float or None
        What `let_out_m` is in colours; None where the line is not colour-coded.
    speed_m_s : float or None
        Speed to come to [m/s].
    turn_deg : float or None
        Angle to turn through, positive to starboard [degrees]: only if the water there is clear.
    latest_s : float or None
        Latest moment to begin [s from now]; None where there is none, as of a turn.
    rods : list of str
        Whose lines, where it is done at the reels before a hit.
    lifts : bool
        Whether it lifts a lure off the bottom, where nothing could keep it off.
    why : str
        A word on it where it needs one: "deepest it can run at this speed".
    """

    kind: Literal["reel", "let out", "speed", "turn", "none"]
    let_out_m: float | None = None
    by_m: float | None = None
    colors_out: float | None = None
    speed_m_s: float | None = None
    turn_deg: float | None = None
    latest_s: float | None = None
    rods: list[str] = []
    lifts: bool = False
    why: str = ""


class LineNow(BaseModel):
    """One line.

    Attributes
    ----------
    rod, rig, lure, colour : str
        What it is.
    size_m : float or None
        Length of the lure [m].
    let_out_m : float
        Line past the rod tip, as the counter reads [m].
    colors_out : float or None
        The same in colours, leader not counted; None where the line is not colour-coded.
    side_m : float
        How far to starboard of the boat's wake the lure runs [m].
    along_m : float
        Where the lure is along (negative: behind the boat) [m].
    depth_m, depth_90_m : float, pair of float
        Depth of the lure, and the span that holds it with 90 % probability [m].
    settled_depth_m : float
        Depth it comes to if speed and course hold [m].
    bottom_m, off_bottom_m, off_bottom_low_m : float or None
        Depth of the bottom under the lure; its height above; what that is at least with 90 %
        probability, the bottom's own error included [m].
    tension_n : float
        Pull at the rod [N].
    shape : list of (along, depth)
        The line from the lure to the rod tip [m]; the tip is above the water: negative depth.
    target_m : float or None
        Depth that the crew wants it at [m].
    change : Change or None
        What would bring it there.
    lat, lon : float
        Where the lure is [degrees].
    ahead : Ahead
        The next two minutes.
    calibrated : bool
        Whether readings have taught this line.
    """

    rod: str
    rig: str = ""
    lure: str = ""
    colour: str = ""
    size_m: float | None = None
    let_out_m: float
    colors_out: float | None = None
    side_m: float = 0.0
    along_m: float
    depth_m: float
    depth_90_m: Band
    settled_depth_m: float
    bottom_m: float | None = None
    off_bottom_m: float | None = None
    off_bottom_low_m: float | None = None
    tension_n: float
    shape: list[Band] = []
    target_m: float | None = None
    change: Change | None = None
    lat: float = 0.0
    lon: float = 0.0
    ahead: Ahead = Ahead()
    calibrated: bool = False


class Notice(BaseModel):
    """A bottom hit that is coming.

    Attributes
    ----------
    rod : str
        Whose line.
    sure : str
        "will hit bottom" where the likeliest path does, "may hit bottom" where one in ten does.
    seconds : float
        From now [s].
    off_bottom_m : float
        Least clearance that is likely [m]; negative is into the bottom.
    """

    rod: str
    sure: Literal["will hit bottom", "may hit bottom"]
    seconds: float
    off_bottom_m: float


class Unfollowed(BaseModel):
    """A line that is out but can't be followed, and why in words."""

    rod: str
    why: str


class Run(BaseModel):
    """The picture of the run at one moment: the data of each "run" event of the stream.

    Attributes
    ----------
    count : int
        Rises by one with each picture.
    state : str
        "running" (lines are followed), "no fix" (nothing says where the boat is), "stale" (the
        last fix is too old to go by: boat and lines are as they were `as_of`), "not towing"
        (stopped, or faster than anybody tows) or "no lines" (no line is out).
    as_of : datetime or None
        When boat, bottom and lines were so, where that is not now.
    do : list of Change
        One action for all lines of the notices, and what else would do it: line and speed first, a
        turn last. Each was tried with all lines together; empty while being worked out, and where
        no bottom is known.
    keep_off_bottom_m : float
        Clearance that the crew wants kept [m].
    wide_turn_m : float or None
        Least radius of a turn with these lines out [m]; None with none followed.
    """

    count: int
    state: Literal["running", "no fix", "stale", "not towing", "no lines"]
    boat: BoatNow
    bottom: Bottom = Bottom()
    lines: list[LineNow] = []
    unfollowed: list[Unfollowed] = []
    notices: list[Notice] = []
    do: list[Change] = []
    keep_off_bottom_m: float = 1.0
    wide_turn_m: float | None = None
    as_of: datetime | None = None


class Targets(BaseModel):
    """What the crew wants of the run.

    Attributes
    ----------
    depth_m : dict of str to float
        Depth wanted for each rod [m].
    keep_off_bottom_m : float
        Clearance to keep above the bottom [m].
    current_m_s, current_to_deg : float
        Current that the crew states: its speed [m/s], and where it goes, from true north
        [degrees].
    lake : str
        The lake whose bottom to go by; "" for none.
    """

    depth_m: dict[str, float] = {}
    keep_off_bottom_m: float = 1.0
    current_m_s: float = 0.0
    current_to_deg: float = 0.0
    lake: str = ""
