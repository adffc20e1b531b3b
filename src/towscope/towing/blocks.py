"""Vectors and blocks of three by three, for the balance of a node: plain numbers, no arrays.

A block is factored without pivots: those of a line are dominated by their symmetric positive part.
"""

from __future__ import annotations

from typing import NamedTuple

from towscope.towing.jit import inlined


class Three(NamedTuple):
    """East, north and up."""

    x: float
    y: float
    z: float


class Nine(NamedTuple):
    """A block, row by row."""

    xx: float
    xy: float
    xz: float
    yx: float
    yy: float
    yz: float
    zx: float
    zy: float
    zz: float


class Factors(NamedTuple):
    """Of a block K = L U: L below its diagonal of ones, U above its own, and 1 / U's diagonal."""

    yx: float
    zx: float
    zy: float
    xy: float
    xz: float
    yz: float
    x: float
    y: float
    z: float


@inlined
def plus(a: Nine, b: Nine) -> Nine:
    """Add two blocks."""
    return Nine(
        a.xx + b.xx, a.xy + b.xy, a.xz + b.xz,
        a.yx + b.yx, a.yy + b.yy, a.yz + b.yz,
        a.zx + b.zx, a.zy + b.zy, a.zz + b.zz,
    )  # fmt: skip


@inlined
def less(a: Nine, b: Nine) -> Nine:
    """Take one block from another."""
    return Nine(
        a.xx - b.xx, a.xy - b.xy, a.xz - b.xz,
        a.yx - b.yx, a.yy - b.yy, a.yz - b.yz,
        a.zx - b.zx, a.zy - b.zy, a.zz - b.zz,
    )  # fmt: skip


@inlined
def times(a: Nine, v: Three) -> Three:
    """Multiply a block and a vector."""
    return Three(
        a.xx * v.x + a.xy * v.y + a.xz * v.z,
        a.yx * v.x + a.yy * v.y + a.yz * v.z,
        a.zx * v.x + a.zy * v.y + a.zz * v.z,
    )


@inlined
def factored(k: Nine) -> Factors:
    """Factor a block."""
    x = 1.0 / k.xx
    yx, zx = k.yx * x, k.zx * x
    yy, yz = k.yy - yx * k.xy, k.yz - yx * k.xz
    y = 1.0 / yy
    zy = (k.zy - zx * k.xy) * y
    zz = k.zz - zx * k.xz - zy * yz
    return Factors(yx, zx, zy, k.xy, k.xz, yz, x, y, 1.0 / zz)


@inlined
def solved(lu: Factors, v: Three) -> Three:
    """Give what times the factored block is the vector."""
    y = v.y - lu.yx * v.x
    z = (v.z - (lu.zx * v.x + lu.zy * y)) * lu.z
    y = (y - lu.yz * z) * lu.y
    return Three((v.x - lu.xy * y - lu.xz * z) * lu.x, y, z)
