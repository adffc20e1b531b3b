"""Logarithm and exponential that come out the same, to the last digit, on every machine.

What a processor or a system brings differs in the last digit from one to the next, and a line
followed in steps of its own choice can turn such a digit into a step more or less. These need only
sums, products and powers of two, which are the same everywhere; both are good to about 1e-15.

References
----------
Muller (2016), Elementary Functions, 3rd edition, ch. 11, for the reductions (from memory).
"""

from __future__ import annotations

import math

import numpy as np

from towscope.towing.jit import inlined

LN_2_HIGH = (
    0.6931471803691238  # its last 20 bits are noughts: times a small whole number it is exact
)
LN_2_LOW = 1.9082149292705877e-10
PER_LN_2 = 1.4426950408889634
ROOT_HALF = 0.7071067811865476
LARGEST = 160
_ROOT_HALF_BITS = int(np.float64(ROOT_HALF).view(np.int64))
_TWOS = 2.0 ** np.arange(-LARGEST, LARGEST + 1)


@inlined
def parted(x: float) -> tuple[float, int]:
    """Give m and e of x = m 2^e, m from the root of a half up to twice that.

    As `math.frexp` does it, without a call and without a choice that no processor can foresee.
    The portable core has its own.
    """
    if 1e-300 < x < 1e300:
        bits = np.float64(x).view(np.int64)
        power_of_two = (bits - _ROOT_HALF_BITS) >> 52
        m = float(np.int64(bits - (power_of_two << 52)).view(np.float64))
        return m, int(power_of_two)
    m, e = math.frexp(x)
    if m < ROOT_HALF:
        m *= 2.0
        e -= 1
    return m, e


@inlined
def logarithm(x: float) -> float:
    """Natural logarithm of a number above nought.

    Examples
    --------
    >>> abs(logarithm(130.0) - math.log(130.0)) < 1e-15
    True
    """
    m, e = parted(x)
    s = (m - 1.0) / (m + 1.0)
    # 2 artanh(s), |s| below 0.172; its terms in pairs, so that they need not wait for each other
    z = s * s
    zz = z * z
    low = (1.0 / 3.0 + z * (1.0 / 5.0)) + zz * (1.0 / 7.0 + z * (1.0 / 9.0))
    high = (1.0 / 11.0 + z * (1.0 / 13.0)) + zz * (1.0 / 15.0 + z * (1.0 / 17.0))
    last = 1.0 / 19.0 + z * (1.0 / 21.0)
    tail = low + (zz * zz) * (high + (zz * zz) * last)
    return e * LN_2_HIGH + (e * LN_2_LOW + (2.0 * s + 2.0 * s * z * tail))


@inlined
def exponential(x: float) -> float:
    """Natural exponential of a number between -110 and 110.

    Examples
    --------
    >>> abs(exponential(-4.3) / math.exp(-4.3) - 1.0) < 1e-15
    True
    """
    # a whole number in floating point: what waits for k need not wait for it to be converted
    k = np.floor(x * PER_LN_2 + 0.5)
    k = k if k >= -LARGEST else -float(LARGEST)  # also where it is not a number
    k = k if k <= LARGEST else float(LARGEST)
    r = (x - k * LN_2_HIGH) - k * LN_2_LOW
    # the series, |r| below 0.347; its terms in pairs again
    rr = r * r
    four = rr * rr
    a = (0.5 + r * (1.0 / 6.0)) + rr * (1.0 / 24.0 + r * (1.0 / 120.0))
    b = (1.0 / 720.0 + r * (1.0 / 5040.0)) + rr * (1.0 / 40320.0 + r * (1.0 / 362880.0))
    c = (1.0 / 3628800.0 + r * (1.0 / 39916800.0)) + rr * (
        1.0 / 479001600.0 + r * (1.0 / 6227020800.0)
    )
    tail = a + four * (b + four * c)
    return float((1.0 + (r + rr * tail)) * _TWOS[int(k) + LARGEST])


@inlined
def power(x: float, p: float) -> float:
    """Power of a number above nought."""
    return exponential(p * logarithm(x))
