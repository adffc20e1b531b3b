"""The steps of the filter of fixes, on bare figures: what is expected, and what a fix changes.

East and north share one covariance: `a` of the place, `b` between place and velocity, `c` of the
velocity. The portable core is made from these very lines.

References
----------
Bar-Shalom, Li & Kirubarajan (2001), Estimation with Applications to Tracking and Navigation,
sec. 6.2.2 (white acceleration).
"""

from __future__ import annotations


def expected_after(
    h: float,
    agility: float,
    x: float,
    vx: float,
    y: float,
    vy: float,
    a: float,
    b: float,
    c: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Give state and covariance a time `h` later [s], at an agility [m^2/s^3]."""
    return (
        x + h * vx,
        vx,
        y + h * vy,
        vy,
        a + h * (2.0 * b + h * c) + agility * (h * h * h) / 3.0,
        b + h * c + agility * h * h / 2.0,
        c + agility * h,
    )


def with_place(
    place_x: float,
    place_y: float,
    variance: float,
    x: float,
    vx: float,
    y: float,
    vy: float,
    a: float,
    b: float,
    c: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Give state and covariance with a place weighed in [m], of a variance [m^2]."""
    ex, ey = place_x - x, place_y - y
    s = a + variance
    ka, kb = a / s, b / s
    return (
        x + ka * ex,
        vx + kb * ex,
        y + ka * ey,
        vy + kb * ey,
        a * (1.0 - ka),
        b * (1.0 - ka),
        c - kb * b,
    )


def with_velocity(
    east: float,
    north: float,
    variance: float,
    x: float,
    vx: float,
    y: float,
    vy: float,
    a: float,
    b: float,
    c: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Give state and covariance with a velocity weighed in [m/s], of a variance [m^2/s^2]."""
    ex, ey = east - vx, north - vy
    s = c + variance
    ka, kb = b / s, c / s
    return (
        x + ka * ex,
        vx + kb * ex,
        y + ka * ey,
        vy + kb * ey,
        a - ka * b,
        b * (1.0 - kb),
        c * (1.0 - kb),
    )
