from __future__ import annotations

import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.errors import InputError
from towscope.journal.ids import check_id, join_id, made_s, new_id


def test_the_standards_own_example() -> None:
    # RFC 9562, appendix A.6: 2022-02-22 14:22:22.00 GMT-05:00, rand_a CC3, rand_b 18C4DC0C0C07398F
    name = join_id(0x017F22E279B0, 0xCC3 << 62 | 0x18C4DC0C0C07398F)
    assert name == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    assert made_s(name) == 1645557742.0


def test_names_made_in_one_instant_rise_and_are_version_7() -> None:
    names = [new_id(now_s=1_786_700_000.0) for _ in range(2000)]
    assert names == sorted(names)
    assert len(set(names)) == 2000
    assert {uuid.UUID(n).version for n in names} == {7}
    assert {uuid.UUID(n).variant for n in names} == {uuid.RFC_4122}


@given(st.integers(0, 2**48 - 2), st.integers(0, 2**74 - 1), st.floats(0, 4e9))
def test_a_name_sorts_behind_the_one_it_follows(stamp: int, chance: int, now: float) -> None:
    before = join_id(stamp, chance)
    assert new_id(after=before, now_s=now) > before


@pytest.mark.parametrize("text", ["", "x", "6ba7b810-9dad-11d1-80b4-00c04fd430c8", "0" * 36])
def test_what_is_no_name_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="UUID of version 7"):
        check_id(text)
