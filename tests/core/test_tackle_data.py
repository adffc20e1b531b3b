"""Tackle for a phone: the same figures that the kernels here are given, to the last digit."""

from __future__ import annotations

import json

import numpy as np
import pytest

from towscope.answers.tackle_data import tackle_data
from towscope.errors import NoAnswer
from towscope.tackle.shelf import stock
from towscope.towing.questions import depth_of, let_out_for
from towscope.towing.tow import Setting
from towscope.words import term


def test_every_stock_rig_goes_along_to_the_last_digit() -> None:
    shelf = stock()
    read = json.loads(json.dumps(tackle_data(shelf, calibrated=False), allow_nan=False))
    assert set(read["rigs"]) == set(shelf.rigs)
    assert set(read["lines"]) == set(shelf.lines)
    assert set(read["lures"]) == set(shelf.lures)
    for name, rig in read["rigs"].items():
        tow = shelf.tow(name)
        assert np.array(rig["pieces"]).tolist() == tow.pieces.tolist()
        assert rig["lure"] == tow.lure.tolist()
        assert rig["medium"] == tow.medium.tolist() == read["medium"]
        assert rig["lure_sd"] == tow.doubt.of_lure.tolist()
        for row, line in zip(rig["pieces"], rig["names"], strict=True):
            assert read["lines"][line]["piece"][1:] == row[1:]  # as it is built up from parts


def test_why_there_is_no_answer_is_said_the_same_on_a_phone() -> None:
    tow = stock().tow("demo")
    with pytest.raises(NoAnswer) as far:
        let_out_for(tow, 290.0, Setting(0.9))
    text = term("no_answer", "out_of_reach")
    head = text.split("{")[0]
    assert str(far.value).startswith(head)
    assert str(far.value).endswith(term("no_answer", "never"))
    with pytest.raises(NoAnswer) as slow:
        let_out_for(tow, 30.0, Setting(2.5))
    assert str(slow.value).endswith("m/s or slower")
    assert term("no_answer", "slower").endswith("{speed} or slower")
    with pytest.raises(NoAnswer) as long:
        depth_of(tow, 5000.0, Setting(0.9))
    head, middle, tail = (part.split("}")[-1] for part in term("no_answer", "too_long").split("{"))
    assert str(long.value).startswith(head)
    assert middle in str(long.value)
    assert str(long.value).endswith(tail)
