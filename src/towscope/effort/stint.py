"""One row of effort: one lure fished unchanged for one span of time."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Stint:
    """One lure fished unchanged on one rod for one span of time.

    Attributes
    ----------
    rod, rig : str
        The rod it was fished on and the rig's name in the tackle.
    lure, body, colour : str
        The lure's name, its shape ("minnow", "spoon") and its colour; "" where not known.
    size_m : float or None
        The lure's length [m].
    depth_m : float or None
        Where it ran, below the surface [m].
    speed_m_s : float or None
        The boat's mean speed, lag to the lure included [m/s].
    let_out_m : float or None
        Line past the rod tip [m].
    start_s, end_s : float
        The span, unix time [s].
    hours : float
        Rod-hours fished within the span [h]; less than the span where the boat ran between spots.
    catches, strikes_missed : int
        What came of it.
    lat, lon : float or None
        The middle of where it was fished [deg, WGS 84].
    light : str or None
        The sky as last noted ("sunny", "cloudy").
    surface_temp_c : float or None
        The water's surface temperature as last noted [degC].
    day : str
        The day on the water, ISO 8601; it runs from three to three, local time.
    hour : float
        Local hour of the day at the middle of the span [h].
    species : tuple of str
        What was caught, one name for each catch; "" where not said.
    """

    rod: str
    rig: str
    lure: str
    body: str
    size_m: float | None
    colour: str
    depth_m: float | None
    speed_m_s: float | None
    let_out_m: float | None
    start_s: float
    end_s: float
    hours: float
    catches: int
    strikes_missed: int
    lat: float | None
    lon: float | None
    light: str | None
    surface_temp_c: float | None
    day: str
    hour: float
    species: tuple[str, ...] = ()
