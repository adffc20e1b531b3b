"""Write what the app answers from beside its core: the stock's tackle, and the draws' figures.

python tools/core/phone_files.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from towscope.tackle.shelf import stock
from towscope.towing.tow import DRAWS, standard_normal
from towscope.web.rigging.carried import carried

PUBLIC = Path(__file__).parents[2] / "frontend" / "public"
COLUMNS = 28  # figures drawn: three for each of eight different lines on a rig, four for the lure


def normals() -> bytes:
    """Give the draws: the figures that all columns hold, rising, then each column's places.

    A Latin hypercube's columns hold the same figures in another order, so that a place is enough.
    """
    drawn = standard_normal(DRAWS, COLUMNS)
    figures = np.sort(drawn[:, 0])
    places = np.searchsorted(figures, drawn.T)
    assert (drawn == figures[places].T).all()
    return figures.astype("<f8").tobytes() + places.astype("<u2").tobytes()


def main() -> None:
    """Write both."""
    (PUBLIC / "draws.bin").write_bytes(normals())
    made = carried(stock(), calibrated=False)
    (PUBLIC / "tackle.json").write_text(made.model_dump_json())


if __name__ == "__main__":
    main()
