"""The force laws against measurements and hand-worked cases."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.towing.drag import Fluid, Skin, cross_flow_coefficient, line_force, lure_force

# Smooth circular cylinder across the flow. Read from the curve of Wieselsberger (1921, Phys. Z.
# 22:321-328) as handbooks redraw it (Hoerner 1965, Fluid-Dynamic Drag, p. 3-9; Schlichting,
# Boundary-Layer Theory, fig. 1.4) and, below Re 100, of Tritton (1959, J. Fluid Mech. 6:547-567).
# All from memory, to about 10 %, the width of the printed band of points.
MEASURED = [
    (10.0, 2.8),
    (20.0, 2.05),
    (40.0, 1.65),
    (100.0, 1.40),
    (200.0, 1.30),
    (500.0, 1.10),
    (1e3, 1.00),
    (2e3, 0.95),
    (5e3, 0.99),
    (1e4, 1.10),
]


@pytest.mark.parametrize(("reynolds", "measured"), MEASURED)
def test_cylinder_drag_follows_measurements(reynolds: float, measured: float) -> None:
    assert cross_flow_coefficient(reynolds) == pytest.approx(measured, rel=0.10)


def test_a_slow_cylinder_approaches_lambs_solution() -> None:
    # Lamb (1911): Cd = 8 pi / (Re (0.5 - gamma - ln(Re / 8))), valid below Re about 0.5.
    for reynolds in (0.01, 0.1):
        lamb = 8 * math.pi / (reynolds * (0.5 - 0.5772157 - math.log(reynolds / 8.0)))
        assert cross_flow_coefficient(reynolds) == pytest.approx(lamb, rel=0.25)


def test_fixed_coefficients_are_taken_as_given() -> None:
    # By hand: 1/2 * 1000 * 1 mm * 1.5 * (1 m/s)^2 = 0.75 N/m across,
    # 1/2 * 1000 * pi * 1 mm * 0.02 * (1 m/s)^2 = 0.0314 N/m along.
    figures = Skin(1e-3, 1.5, 0.02, 1.0, 1.0), Fluid(1000.0, 1e-6)
    across = line_force(1.0, 0.0, 0.0, 0.0, 0.0, 1.0, *figures)
    along = line_force(1.0, 0.0, 0.0, 1.0, 0.0, 0.0, *figures)
    assert across == pytest.approx((0.75, 0.0, 0.0))
    assert along == pytest.approx((0.0314159, 0.0, 0.0), rel=1e-5)


def test_skin_friction_of_a_yawed_wire_is_taylors() -> None:
    # Taylor (1952, Proc. R. Soc. A 214:158): F = 1/2 rho d U^2 5.4 Re^-1/2 cos i sin^1/2 i; worked
    # here for d = 0.6 mm, U = 0.9 m/s, i = 14 deg in water at 20 degC.
    u, d, nu, rho, i = 0.9, 0.6e-3, 1.0034e-6, 998.2, math.radians(14.0)
    taylor = (
        0.5 * rho * d * u**2 * 5.4 / math.sqrt(u * d / nu) * math.cos(i) * math.sqrt(math.sin(i))
    )
    figures = Skin(d, -1.0, -1.0, 0.0, 1.0), Fluid(rho, nu)
    fx, _, fz = line_force(u, 0.0, 0.0, math.cos(i), 0.0, math.sin(i), *figures)
    along = fx * math.cos(i) + fz * math.sin(i)
    assert along == pytest.approx(taylor, rel=0.05)  # the rest is friction along a lying line
    assert along > taylor


@given(
    st.tuples(*[st.floats(-3, 3)] * 3),
    st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda t: sum(x * x for x in t) > 0.01),
)
def test_water_never_pushes_a_line_against_the_flow(
    u: tuple[float, float, float], t: tuple[float, float, float]
) -> None:
    size = math.sqrt(sum(x * x for x in t))
    tx, ty, tz = (x / size for x in t)
    figures = Skin(6e-4, -1.0, -1.0, 1.0, 1.0), Fluid(998.0, 1e-6)
    f = line_force(*u, tx, ty, tz, *figures)
    assert sum(a * b for a, b in zip(f, u, strict=True)) >= 0.0
    back = line_force(*u, -tx, -ty, -tz, *figures)
    assert f == pytest.approx(back)


def test_a_lure_drags_dives_and_weighs() -> None:
    # By hand at 1 m/s: 500 Pa * 4 cm^2 = 0.2 N of drag; 500 Pa * 1 cm^2 + 0.03 N down.
    assert lure_force(-1.0, 0.0, 4e-4, 1e-4, 0.03, 1000.0) == pytest.approx((-0.2, 0.0, -0.08))
