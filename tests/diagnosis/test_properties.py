"""Whatever is left out of a file, the answer stays an answer: chances are chances, nothing is invented."""

import json
from dataclasses import replace
from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from threshold_form import read_case

from wearline.app.explaining import explained_lines, why_answer
from wearline.catalogue.loading import load_catalogue
from wearline.diagnosis.explain import explain
from wearline.records.inspection import Inspection

CASES = ["A1", "A3", "A4", "A10", "B5"]


@lru_cache(maxsize=8)
def case(name: str) -> Inspection:
    return read_case(name)


def without(inspection: Inspection, share: float, seed: int) -> Inspection:
    """Leave out about so many readings."""
    import numpy as np

    rng = np.random.default_rng(seed)
    ends = tuple(
        replace(end, readings={key: value for key, value in end.readings.items() if rng.random() > share})
        for end in inspection.wheel_ends
    )
    return replace(inspection, wheel_ends=ends)


@given(st.sampled_from(CASES), st.floats(0.0, 1.0), st.integers(0, 10_000))
@settings(deadline=None, max_examples=12)
def test_any_part_of_a_file_gives_chances(name: str, share: float, seed: int) -> None:
    found = explain(without(case(name), share, seed), load_catalogue())
    json.dumps(why_answer(found), allow_nan=False)
    assert explained_lines(found)
    for end in found.wheel_ends:
        assert 0.0 <= end.healthy <= 1.0
        assert 0.0 <= end.dropped < 0.10
        for view in end.causes:
            assert 0.0 <= view.probability <= 1.0 + 1e-9
        for test in end.next_tests:
            assert test.gain >= 0.0
            assert test.minutes > 0.0


@pytest.mark.parametrize("name", CASES)
def test_sides_do_not_matter(name: str) -> None:
    """Left and right exchanged at every axle: every chance moves to the other side with its readings."""
    inspection = case(name)
    turned = replace(
        inspection,
        wheel_ends=tuple(replace(end, place=end.place.mate) for end in reversed(inspection.wheel_ends)),
    )
    there, back = explain(inspection, load_catalogue()), explain(turned, load_catalogue())
    for end in there.wheel_ends:
        other = back.wheel_end(end.place[:-1] + ("R" if end.place[-1] == "L" else "L"))
        assert other.healthy == pytest.approx(end.healthy, abs=1e-9)
        assert [view.code for view in other.causes[:2]] == [view.code for view in end.causes[:2]]
