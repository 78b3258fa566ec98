"""What both ends of an axle show at once is no misreading; a thin pad is not argued away by an indicator."""

from __future__ import annotations

import pytest
from test_forecast_history import both, history, inspection, looks

from wearline.catalogue.loading import load_catalogue
from wearline.forecasting.outlook import forecast_wear
from wearline.records.readings import CORNERS, Measured


def forecast(items):
    return forecast_wear(items, load_catalogue())


def said(found, code):
    return [(each.at, each.inspections) for each in found.findings if each.code == code]


def end_of(found, at):
    return next(end for end in found.ends if str(end.info.place) == at)


STEADY = [(100_000, 19.6), (120_000, 18.2), (140_000, 16.8)]


def test_pads_renewed_at_both_ends_are_found_though_they_wore_three_times_as_fast_since():
    """Pads are renewed at both ends of an axle (common practice, no source); wear never rises."""
    steer = [*STEADY, (180_000, 14.0), (200_000, 16.8)]
    drive = [19.6, 18.2, 16.8, 14.0, 12.6]
    visits = [(km, both(h) | {"2L": own, "2R": own}) for (km, h), own in zip(steer, drive, strict=True)]
    found = forecast(looks(*visits, axles=("1", "2")))
    assert said(found, "pads renewed without a record") == [("1L", ("i4",)), ("1R", ("i4",))]
    assert said(found, "reading fits nothing") == []
    for at in ("1L", "1R"):
        assert end_of(found, at).friction[1] == pytest.approx(16.8e-3, abs=0.4e-3)


def test_a_faster_wear_of_both_ends_is_one_cause_and_not_two_misreadings():
    """A retarder that died acts on both ends (common practice, no source): 1.4 mm, then 4.5 mm a visit."""
    pairs = [*STEADY, (160_000, 15.4), (180_000, 10.9)]
    found = forecast(looks(*((km, both(h)) for km, h in pairs)))
    assert {at for at, _ in said(found, "wear rate changed")} == {"1L", "1R"}
    assert end_of(found, "1L").friction[1] == pytest.approx(10.9e-3, abs=0.4e-3)


def test_one_end_that_fits_nothing_stays_a_doubtful_reading():
    """The same rise at one end only, of one corner: pads are not renewed at one end."""
    ends = {"1L": 16.8, "1R": 14.0}
    items = looks(*((km, both(h)) for km, h in STEADY), (160_000, both(15.4)), (180_000, ends))
    found = forecast(items)
    assert "1R" not in {
        at for each in found.findings for at in [each.at] if each.code.startswith("pads renewed")
    }


def test_a_thin_inner_pad_beside_a_good_indicator_is_reckoned_with():
    """A pad stuck in the carrier: the inner one is nearly gone, the outer one and its indicator look good."""
    readings = {("pad_inner", corner): Measured(2.6e-3, "2.6 mm", "mm", 1e-4) for corner in CORNERS}
    readings[("wear_indicator", "")] = Measured(0.5, "50 %", "%", 0.01)
    items = looks(*((km, both(h)) for km, h in STEADY))
    last = inspection(300, 160_000, {"1L": 9.0, "1R": 15.4}, extra={"1L": readings})
    found = forecast(items + history(last)[:0] + [type(items[0])("i3", last)])
    pads = end_of(found, "1L").limits[0]
    assert pads.p05 == 0.0
    assert end_of(found, "1L").friction[0] == pytest.approx(2.6e-3, abs=0.4e-3)


def test_pads_renewed_at_the_look_itself_do_not_pass_for_pads_that_stopped_wearing():
    """As found 11.2 mm, then 20 000 km on new pads at 5 mm/10 000 km: 11.0 mm, and hardly any wear is seen.

    Pads are renewed when the wheels are off; nothing makes pads stop wearing (common practice, no source).
    """
    steer = [(100_000, 16.0), (110_000, 11.2), (130_000, 11.0)]
    drive = [16.0, 11.4, 11.1]
    visits = [(km, both(h) | {"2L": own, "2R": own}) for (km, h), own in zip(steer, drive, strict=True)]
    found = forecast(looks(*visits, axles=("1", "2"), since0=10_000, duty="tipper"))
    assert {at for at, _ in said(found, "pads renewed without a record")} == {"1L", "1R", "2L", "2R"}
    for at in ("1L", "2R"):
        assert 4.0e-7 < 1e3 * end_of(found, at).rate[1] < 6.0e-7
