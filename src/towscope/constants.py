"""Exact units and quantiles that figures are reckoned with, in SI; below every room."""

from __future__ import annotations

from typing import Final

# Exact by definition: international yard and pound (1959), nautical mile (International
# Hydrographic Conference, Monaco 1929), standard gravity (3rd CGPM, 1901), as listed in NIST
# SP 811, appendix B.
FOOT: Final = 0.3048  # [m]
INCH: Final = 0.0254
YARD: Final = 0.9144
MILE: Final = 1609.344
MPH: Final = 0.44704  # [m/s]
NAUTICAL_MILE: Final = 1852.0
KNOT: Final = NAUTICAL_MILE / 3600.0  # [m/s]
POUND: Final = 0.45359237  # [kg]
GRAVITY: Final = 9.80665  # [m/s^2]

# Of the standard normal distribution: standard errors above the middle below which so much lies.
ABOVE_NINE_IN_TEN: Final = 1.2815515655446004
HALF_OF_90: Final = 1.6448536269514722  # to either side of the middle, and nine in ten lie between
