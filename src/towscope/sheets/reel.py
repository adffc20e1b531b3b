"""A rig's line on a reel, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from towscope.errors import InputError
from towscope.tackle.spool import counter, fill

if TYPE_CHECKING:
    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Tow
    from towscope.units import System


def report(
    shelf: Shelf,
    tow: Tow,
    name: str,
    rig: str,
    let_out: float | None,
    read: float | None,
    system: System,
) -> tuple[dict[str, Any], str]:
    """Give the answer of `towscope reel` as data and in words."""
    reel = shelf.reel(name)
    place = shelf.place("reels", name)
    parts = [(float(p[0]), float(p[1])) for p in tow.pieces]
    state = fill(reel, parts, place)
    last = tow.names[-1]
    answer: dict[str, Any] = {
        "reel": name,
        "rig": rig,
        "fits": state.fits,
        "filled_share": state.share,
        "backing_m": state.backing,
        "too_long_by_m": state.over,
        "packing_share": reel.packing,
        "spool_width_m": state.width,
    }
    words = [f"{rig} on {name}: fills {state.share * 100:.0f} % of the spool"]
    if state.fits:
        backing = system.show(state.backing, "length")
        words.append(f"It fits; first wind on {backing} more of {last} to fill it")
    else:
        words.append(f"It does not fit: take {system.show(state.over, 'length')} of {last} off")
    words.append(f"(line taken to pack like the rated line, {reel.packing * 100:.0f} % full)")
    if math.isnan(state.width):
        words.append("Give full_diameter and arbor_diameter to learn what a turn counter misreads")
    elif state.fits:
        total = sum(length for length, _ in parts)
        filled = [*parts[:-1], (parts[-1][0] + state.backing, parts[-1][1])]
        marks = [let_out] if let_out is not None else [0.1 * total, 0.25 * total, 0.5 * total]
        table = []
        words.append("What a counter shows that counts turns and is true on a full spool:")
        for mark in marks:
            shown, full = (counter(reel, wound, mark, place) for wound in (parts, filled))
            table.append({"let_out_m": mark, "counter_m": shown, "counter_with_backing_m": full})
            out, bare, topped = (system.show(v, "length") for v in (mark, shown, full))
            words.append(
                f"  {out} really out: {bare} as it is ({(shown / mark - 1.0) * 100:+.0f} %), "
                f"{topped} filled up with backing ({(full / mark - 1.0) * 100:+.0f} %)"
            )
        answer["counter"] = table
    if read is not None and let_out is not None:
        factor = let_out / read
        if not 0.5 <= factor <= 2.0:
            raise InputError(
                f"--counter: {read:.1f} m read for {let_out:.1f} m out is off more than twofold; "
                "check both"
            )
        answer["counter_factor"] = factor
        words.append(
            f"Your counter: multiply by {factor:.3f}. To save it, add to your tackle file under "
            f"[rigs.{rig}]: counter_factor = {factor:.3f}"
        )
    return answer, "\n".join(words)
