"""Kinds of entry that a journal holds, each with the fields it must and may have.

An entry is never edited. It carries the name it got where it was made, the device, the time with
its offset from UTC, the place where known, and figures in SI. A mistake is mended by a further
entry: ``undo`` takes one back, ``correct`` replaces some of its fields, ``clock`` says how wrong a
device's clock was.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Annotated, Any, Final, Literal, Self

from pydantic import (
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    TypeAdapter,
    ValidationError,
    field_validator,
    model_validator,
)

from towscope.errors import InputError, one_line
from towscope.journal.ids import check_id, made_s
from towscope.journal.times import EARLIEST, LATEST, day_at
from towscope.words.hooks import Hook

FORMAT: Final = 1
_LONGEST_S: Final = 1e10  # what any clock can be off by: three centuries
LONGEST_CLOCK: Final = timedelta(days=400)  # a clock wrong for longer is told year by year

_PRINTABLE: Final = r"^[^\x00-\x1f\x7f]*$"
_TEXT: Final = r"^[^\x00-\x08\x0b-\x1f\x7f]*$"  # lines and tabs, but nothing a database refuses
Word = Annotated[str, StringConstraints(min_length=1, max_length=80, pattern=_PRINTABLE)]
Text = Annotated[str, StringConstraints(min_length=1, max_length=2000, pattern=_TEXT)]
LetOut = Annotated[float, Field(ge=0, le=1000)]
Depth = Annotated[float, Field(ge=0, le=500)]


def _moment(value: datetime) -> datetime:
    """Give a time back if all that reckons with it can."""
    if not EARLIEST <= value <= LATEST:
        raise InputError("a time between 1990 and 2100 is expected")
    return value


class Event(BaseModel):
    """What every entry says.

    Attributes
    ----------
    v : int
        Version of the entry's form.
    id : str
        Its name, see `towscope.journal.ids`.
    device : str
        The device it was made on.
    at : datetime
        When it happened, with the offset from UTC.
    zone : str or None
        The time zone's name, "America/Chicago".
    lat, lon : float or None
        The boat's place [deg, WGS 84].
    who : str or None
        Of the crew.
    clock_ahead_s : float or None
        How far the device's clock ran ahead of the boat's, where that was told [s]. It is taken
        off `at` already; what the device itself showed is both together.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    v: Literal[1] = 1
    id: str
    device: Word
    at: AwareDatetime
    zone: Word | None = None
    lat: Annotated[float, Field(ge=-90, le=90)] | None = None
    lon: Annotated[float, Field(ge=-180, le=180)] | None = None
    who: Word | None = None
    clock_ahead_s: Annotated[float, Field(ge=-_LONGEST_S, le=_LONGEST_S)] | None = None

    @field_validator("id")
    @classmethod
    def _name(cls, value: str) -> str:
        return check_id(value)

    @field_validator("at")
    @classmethod
    def _sane(cls, value: datetime) -> datetime:
        return _moment(value)

    @model_validator(mode="after")
    def _place(self) -> Self:
        if (self.lat is None) != (self.lon is None):
            raise InputError("a place has both lat and lon, or neither")
        return self

    @property
    def at_s(self) -> float:
        """When it happened, unix time [s]."""
        return self.at.timestamp()

    @property
    def made_s(self) -> float:
        """When it was entered, by the boat's clock where that was told, unix time [s]."""
        return made_s(self.id) - (self.clock_ahead_s or 0.0)

    @property
    def shown_s(self) -> float:
        """When it happened as its device's own clock showed it, unix time [s]."""
        return self.at_s + (self.clock_ahead_s or 0.0)

    @property
    def day(self) -> str:
        """The day on the water it belongs to, ISO 8601; see `towscope.journal.times.day_at`."""
        return day_at(self.at).isoformat()

    def line(self) -> str:
        """Give the entry as its one line of JSON, always in the same spelling."""
        return self.model_dump_json(exclude_none=True)


class _OnRod(Event):
    rod: Word


class LineOut(_OnRod):
    """A line goes out: what is on it and how much of it."""

    kind: Literal["line_out"] = "line_out"
    rig: Word | None = None
    lure: Word | None = None
    body: Word | None = None
    size_m: Annotated[float, Field(gt=0, le=1)] | None = None
    colour: Word | None = None
    let_out_m: LetOut | None = None


class LineChange(_OnRod):
    """Something about a line that is out changes; what is not said stays."""

    kind: Literal["line_change"] = "line_change"
    rig: Word | None = None
    lure: Word | None = None
    body: Word | None = None
    size_m: Annotated[float, Field(gt=0, le=1)] | None = None
    colour: Word | None = None
    let_out_m: LetOut | None = None


class LineIn(_OnRod):
    """A line comes in."""

    kind: Literal["line_in"] = "line_in"


class Catch(Event):
    """A fish in the boat, or at its side."""

    kind: Literal["catch"] = "catch"
    rod: Word | None = None
    species: Word | None = None
    length_m: Annotated[float, Field(gt=0, le=2.5)] | None = None
    weight_kg: Annotated[float, Field(gt=0, le=150)] | None = None
    kept: bool | None = None
    hook: Hook | None = None
    bled: bool | None = None
    depth_m: Depth | None = None


class StrikeMissed(_OnRod):
    """A strike that did not stay on."""

    kind: Literal["strike_missed"] = "strike_missed"


class BottomHit(_OnRod):
    """The lure ticked bottom; `depth_m` is the sounder's depth at the boat, where read."""

    kind: Literal["bottom_hit"] = "bottom_hit"
    depth_m: Depth | None = None


class SonarMark(Event):
    """Fish seen on the sounder, and how deep."""

    kind: Literal["sonar_mark"] = "sonar_mark"
    depth_m: Depth
    count: Annotated[int, Field(ge=1, le=1000)] | None = None


class Conditions(Event):
    """What sky and water are like from now on; what is not said stays as it was."""

    kind: Literal["conditions"] = "conditions"
    sky: Word | None = None
    wind_m_s: Annotated[float, Field(ge=0, le=60)] | None = None
    wind_from: Word | None = None
    surface_temp_c: Annotated[float, Field(ge=-5, le=45)] | None = None
    clarity_m: Annotated[float, Field(gt=0, le=60)] | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        told = (self.sky, self.wind_m_s, self.wind_from, self.surface_temp_c, self.clarity_m)
        if all(value is None for value in told):
            raise InputError(
                "conditions with nothing in them; expected sky, wind, surface_temp or clarity"
            )
        return self


class Note(Event):
    """Anything else, in words."""

    kind: Literal["note"] = "note"
    text: Text


_PLAIN: Final[TypeAdapter[str]] = TypeAdapter(
    Annotated[str, StringConstraints(max_length=2000, pattern=_TEXT)]
)
_LARGEST: Final = 2**53


def _corrected_at(value: Any) -> datetime:
    """Read the time of a correction."""
    try:
        if isinstance(value, str):
            return _moment(_TIME.validate_python(value))
    except ValidationError:
        pass
    raise InputError(
        f"the correction of at: {one_line(repr(value), 40)}; "
        "expected a time such as 2026-08-14T07:42:00-05:00"
    )


_TIME: Final[TypeAdapter[datetime]] = TypeAdapter(AwareDatetime)


class Undo(Event):
    """Take an entry back; an undo can be taken back too."""

    kind: Literal["undo"] = "undo"
    target: str

    @field_validator("target")
    @classmethod
    def _target(cls, value: str) -> str:
        return check_id(value)


class Correct(Event):
    """Replace some fields of an entry; null takes a field away."""

    kind: Literal["correct"] = "correct"
    target: str
    changes: dict[Word, Any]

    @field_validator("target")
    @classmethod
    def _target(cls, value: str) -> str:
        return check_id(value)

    @field_validator("changes")
    @classmethod
    def _fields(cls, value: dict[str, Any]) -> dict[str, Any]:
        if not value:
            raise InputError("a correction changes at least one field")
        fixed = {"id", "device", "kind", "v", "target", "changes"} & value.keys()
        if fixed:
            raise InputError(f"a correction cannot change {', '.join(sorted(fixed))}")
        for key, item in value.items():
            if not isinstance(item, (str, int, float, bool, type(None))):
                raise InputError(f"the correction of {key} is not a plain value")
            if isinstance(item, str):
                _PLAIN.validate_python(item)
            elif item is not None and not abs(item) < _LARGEST:  # nan too
                raise InputError(f"the correction of {key} is out of all reason")
        if "at" in value:
            _corrected_at(value["at"])
        return value

    @property
    def moved_to(self) -> str | None:
        """The day on the water that it moves its entry to, ISO 8601; None where to none."""
        return (
            day_at(_corrected_at(self.changes["at"])).isoformat() if "at" in self.changes else None
        )

    def line(self) -> str:
        """Give the entry as its one line of JSON; null in `changes` means "take away" and stays."""
        import json

        body = self.model_dump(mode="json", exclude={"changes"}, exclude_none=True)
        body["changes"] = dict(self.changes)
        return json.dumps(body, ensure_ascii=False, separators=(",", ":"))


class Clock(Event):
    """How far a device's clock ran ahead (or, negative, behind) between two of its own times."""

    kind: Literal["clock"] = "clock"
    of: Word
    ahead_s: Annotated[float, Field(ge=-172800, le=172800)]
    since: AwareDatetime
    until: AwareDatetime

    @field_validator("since", "until")
    @classmethod
    def _sane_span(cls, value: datetime) -> datetime:
        return _moment(value)

    @model_validator(mode="after")
    def _forward(self) -> Self:
        if not timedelta(0) <= self.until - self.since <= LONGEST_CLOCK:
            raise InputError(
                f"a clock is wrong from since to until, {LONGEST_CLOCK.days} days at most"
            )
        return self


AnyEvent = (
    LineOut
    | LineChange
    | LineIn
    | Catch
    | StrikeMissed
    | BottomHit
    | SonarMark
    | Conditions
    | Note
    | Undo
    | Correct
    | Clock
)
_ADAPTER: Final[TypeAdapter[AnyEvent]] = TypeAdapter(
    Annotated[AnyEvent, Field(discriminator="kind")]
)


def read_event(data: str | bytes | dict[str, Any]) -> AnyEvent:
    """Read one entry from its line of JSON, or from its fields.

    Parameters
    ----------
    data : str, bytes or dict
        The entry.

    Returns
    -------
    AnyEvent
        The entry, checked.

    Raises
    ------
    InputError
        Naming the field that is wrong and what was expected.

    Examples
    --------
    >>> entry = read_event({"id": "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "device": "phone",
    ...     "kind": "bottom_hit", "rod": "port", "at": "2026-08-14T07:42:00-05:00"})
    >>> entry.day, entry.rod
    ('2026-08-14', 'port')
    """
    try:
        if isinstance(data, dict):
            return _ADAPTER.validate_python(data)
        return _ADAPTER.validate_json(data)
    except ValidationError as error:
        raise InputError(_first(error)) from None


def stored_event(line: str) -> AnyEvent:
    """Read an entry back from the store's own line.

    Raises
    ------
    InputError
        Where this version cannot use it: one taken when less was asked of an entry, or of a later
        version's kind.
    """
    try:
        return _ADAPTER.validate_json(line)
    except ValidationError as error:
        raise InputError(_first(error)) from None


def _first(error: ValidationError) -> str:
    problem = error.errors(include_url=False)[0]
    if problem["type"] == "json_invalid":
        return "not a line of JSON (cut short?); expected one entry as a JSON object"
    where = [str(part) for part in problem["loc"]]
    kinds = {"line_out", "line_change", "line_in", "strike_missed"}
    if where and (where[0] in kinds or len(where) > 1):
        where = where[1:] or where
    name = ".".join(where) or "entry"
    given = problem.get("input")
    shown = "" if isinstance(given, dict) else f" (found {one_line(repr(given), 40)})"
    if problem["type"] == "extra_forbidden":
        return f'unknown field "{one_line(name, 40)}"; this version of towscope does not know it'
    if problem["type"] == "union_tag_invalid":
        tag = one_line(str(problem.get("ctx", {}).get("tag", "")), 40)
        return f'unknown kind of entry "{tag}"; this version of towscope does not know it'
    if problem["type"] == "union_tag_not_found":
        return 'no "kind"; expected one entry with its kind, id, device and time'
    if problem["type"] == "literal_error" and name == "v":
        return f"entry of format {one_line(given, 20)}; this version of towscope reads {FORMAT}"
    message = problem["msg"].removeprefix("Value error, ")
    return f"{one_line(name, 60)}: {one_line(message, 120)}{shown}"
