"""Schema of a tackle file, and what each figure in it must be.

Quantities are text with units in the file and SI figures here. Unknown keys are refused.
"""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    model_validator,
)

from towscope.constants import YARD
from towscope.errors import InputError
from towscope.units import parse
from towscope.water import weight_of_soaked

MAX_PIECES = 40


def reading(kind: str, low: float, high: float, span: str, color: bool = False) -> BeforeValidator:
    """Read a quantity that must lie in a span, which the message states."""

    def reader(value: Any) -> Any:
        if color and isinstance(value, str) and "col" in value.lower():
            return value  # colours wait for the line that defines them
        figure = parse(value, kind)
        if not low <= figure <= high:
            raise InputError(f'"{value}" is not possible here; expected {span}')
        return figure

    return BeforeValidator(reader)


Diameter = Annotated[float, reading("length", 2e-5, 2e-2, "0.02 to 20 mm")]
LinearMass = Annotated[float, reading("mass_per_length", 1e-6, 0.5, "0.001 to 500 g/m")]
ColorLength = Annotated[float, reading("length", 0.5, 100.0, "0.5 to 100 m (10 yd is usual)")]
Strength = Annotated[float, reading("force", 1.0, 5000.0, "1 to 5000 N (0.2 to 1100 lb)")]
Area = Annotated[float, reading("area", 1e-7, 0.05, "0.001 to 500 cm^2")]
DiveArea = Annotated[float, reading("area", -0.05, 0.05, "-500 to 500 cm^2")]
Weight = Annotated[float, reading("force", -20.0, 50.0, "-20 to 50 N")]
SmallForce = Annotated[float, reading("force", 0.0, 20.0, "0 to 20 N")]
Height = Annotated[float, reading("length", 0.0, 8.0, "0 to 8 m above the water (3 ft is usual)")]
Depth = Annotated[float, reading("length", 0.0, 150.0, "0 to 150 m")]
LetOut = Annotated[float, reading("length", 1.0, 500.0, "1 to 500 m")]
Speed = Annotated[float, reading("speed", 0.1, 5.0, "0.1 to 5 m/s (0.2 to 11 mph)")]
Ratio = Annotated[float, reading("ratio", 0.0, 1.0, "0 to 100 %")]
Share = Annotated[float, reading("ratio", 0.05, 1.0, "5 to 100 %")]
Temperature = Annotated[float, reading("temperature", 0.0, 35.0, "0 to 35 degC (32 to 95 degF)")]
Density = Annotated[float, reading("density", 900.0, 1100.0, "900 to 1100 kg/m^3")]
Viscosity = Annotated[float, reading("viscosity", 1e-4, 5e-3, "0.1e-3 to 5e-3 Pa*s")]
Size = Annotated[float, reading("length", 0.005, 1.0, "0.5 to 100 cm")]
Diameter2 = Annotated[float, reading("length", 5e-3, 0.5, "5 to 500 mm")]
PieceLength = Annotated[float | str, reading("length", 1e-3, 2000.0, "1 mm to 2000 m", color=True)]
Coefficient = Annotated[float, Field(ge=0.0, le=5.0, allow_inf_nan=False)]
Friction = Annotated[float, Field(ge=0.0, le=0.5, allow_inf_nan=False)]
Factor = Annotated[float, Field(ge=0.5, le=2.0, allow_inf_nan=False)]
Title = Annotated[
    str,
    StringConstraints(
        strip_whitespace=True,
        min_length=1,
        max_length=60,
        pattern=r"^[^\x00-\x1f\x7f]*$",
    ),
]


class Part(BaseModel):
    """What every table of a tackle file shares: strictness, and where its figures come from."""

    # Built when first needed, as one: half the cost at the start of every command.
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    source: dict[str, str] = Field(default_factory=dict)
    note: str = ""


class WaterState(Part):
    """The water the rigs run in: its temperature, or its density and viscosity."""

    temperature: Temperature | None = None
    density: Density | None = None
    viscosity: Viscosity | None = None

    @model_validator(mode="after")
    def _one_or_both(self) -> Self:
        if (self.density is None) != (self.viscosity is None):
            raise InputError("density and viscosity go together; give both, or temperature alone")
        if (self.temperature is None) == (self.density is None):
            raise InputError("expected temperature, or density and viscosity, not both or neither")
        return self


class Line(Part):
    """A stock of line.

    Attributes
    ----------
    diameter : float
        Outer diameter [m].
    mass : float
        Mass per length in air, dry [kg/m].
    solid : float
        Share of the cross-section that is line rather than water once soaked.
    color_length : float or None
        Length of one colour [m] on coded line.
    strength : float or None
        Breaking strength [N].
    normal_drag, friction_drag : float or None
        Fixed coefficients instead of the laws.
    roughness : float
        Factor on both drag laws, for braided sheath.
    drag_sd, friction_sd, weight_sd : float
        Standard deviations of the logarithm of drag, friction and weight in water.
    """

    diameter: Diameter
    mass: LinearMass
    solid: Share = 1.0
    color_length: ColorLength | None = None
    strength: Strength | None = None
    normal_drag: Coefficient | None = None
    friction_drag: Friction | None = None
    roughness: Factor = 1.0
    drag_sd: Ratio = 0.12
    friction_sd: Ratio = 0.30
    weight_sd: Ratio = 0.05

    @model_validator(mode="after")
    def _possible(self) -> Self:
        area = math.pi / 4.0 * self.diameter**2 * self.solid
        if self.mass > 21000.0 * area:
            raise InputError(
                f"mass {self.mass * 1e3:g} g/m in a line {self.diameter * 1e3:g} mm thick would be "
                "denser than any metal; check the units of both"
            )
        if self.mass < 300.0 * area:
            raise InputError(
                f"mass {self.mass * 1e3:g} g/m in a line {self.diameter * 1e3:g} mm thick would be "
                "lighter than cork; check the units of both"
            )
        return self

    def weight_in_water(self, density: float) -> float:
        """Weight per length once soaked [N/m], in water of a density [kg/m^3]."""
        return weight_of_soaked(self.mass, self.diameter, self.solid, density)


class Rating(Part):
    """How deep a package says its lure runs, and on what."""

    depth: Depth
    let_out: LetOut
    line: str
    speed: Speed
    tip_height: Height = YARD


Body = Literal["minnow", "shad", "deep-lipped", "spoon", "harness", "other"]


class Lure(Part):
    """A lure.

    Its key is what commands and files call it; `name` is what the crew calls it, as they write it.

    Attributes
    ----------
    name : str or None
        What the crew calls it.
    drag_area : float or None
        Drag area [m^2]; estimated from body and size where it is left out.
    dive_area : float or None
        Dive area [m^2]; solved from the rating where it is left out.
    rating : Rating or None
        How deep it runs on what, as its package says.
    weight_in_water : float
        Weight in water [N]; negative floats.
    body, size, colour : str, float, str
        What it looks like; size is its length [m].
    drag_sd, dive_sd : float
        Standard deviations of the logarithm of drag and dive area.
    weight_sd : float or None
        Standard deviation of the weight in water [N].
    """

    name: Title | None = None
    drag_area: Area | None = None
    dive_area: DiveArea | None = None
    rating: Rating | None = None
    weight_in_water: Weight = 0.0
    body: Body = "other"
    size: Size | None = None
    colour: str = ""
    drag_sd: Ratio = 0.30
    dive_sd: Ratio = 0.25
    weight_sd: SmallForce | None = None

    @model_validator(mode="after")
    def _enough(self) -> Self:
        if self.dive_area is not None and self.rating is not None:
            raise InputError("dive_area and rating both set the depth; give one of them")
        if self.drag_area is None and (self.size is None or self.body == "other"):
            raise InputError("expected drag_area, or body and size to estimate it from")
        return self


class PieceOfLine(Part):
    """One piece of line on a rig."""

    line: str
    length: PieceLength


class RigParts(Part):
    """A lure and the lines above it, from the lure up.

    Its key is what commands and files call it; `name` is what the crew calls it, as they write it.
    """

    lure: str
    name: Title | None = None
    tip_height: Height = YARD
    line: Annotated[list[PieceOfLine], Field(min_length=1, max_length=MAX_PIECES)]
    reel: str | None = None
    counter_factor: Factor = 1.0


class Reel(Part):
    """A reel's spool, from its rating and two measures of its own."""

    capacity: str
    full_diameter: Diameter2 | None = None
    arbor_diameter: Diameter2 | None = None
    packing: Share = 0.80

    @model_validator(mode="after")
    def _right_way_round(self) -> Self:
        full, arbor = self.full_diameter, self.arbor_diameter
        if full is not None and arbor is not None and arbor >= full:
            raise InputError("arbor_diameter must be smaller than full_diameter")
        return self


class TackleFile(Part):
    """A whole tackle file."""

    water: WaterState | None = None
    lines: dict[str, Line] = Field(default_factory=dict)
    lures: dict[str, Lure] = Field(default_factory=dict)
    rigs: dict[str, RigParts] = Field(default_factory=dict)
    reels: dict[str, Reel] = Field(default_factory=dict)
