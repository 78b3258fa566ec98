"""Guide play, tilt and pad taper.

The rows of the table are derived from plane geometry with invented generic dimensions (span 80 mm, dial at
105 mm, pad 210 x 92 mm); the ladder of lands is worked by hand below. No published source.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.physics import guide_pins, tilt

SPAN, DISTANCE, LENGTH, HEIGHT = 0.080, 0.105, 0.210, 0.092

# clearance mm, tilt mrad, play mm, end-to-end wedge mm, top-to-bottom wedge mm: derived, printed to 0.01
ROWS = [
    (0.15, 1.9, 0.39, 0.39, 0.17),
    (0.25, 3.1, 0.66, 0.66, 0.29),
    (0.60, 7.5, 1.58, 1.58, 0.69),
    (1.00, 12.5, 2.63, 2.63, 1.15),
    (1.50, 18.8, 3.94, 3.94, 1.73),
]


@pytest.mark.parametrize(("clearance", "mrad", "play", "end", "top"), ROWS)
def test_table_of_clearance_tilt_play_and_wedge(clearance, mrad, play, end, top):
    """Derived table; half a unit of the last printed digit."""
    angle = tilt.greatest_tilt(clearance * 1e-3, SPAN)
    assert pytest.approx(mrad, abs=0.051) == angle * 1e3
    assert pytest.approx(play, abs=0.0051) == tilt.play_at_plane(clearance * 1e-3, SPAN, DISTANCE) * 1e3
    assert pytest.approx(end, abs=0.0051) == tilt.wedge(angle, LENGTH) * 1e3
    assert pytest.approx(top, abs=0.0051) == tilt.wedge(angle, HEIGHT) * 1e3


def test_clearance_at_the_play_limit():
    """Derived: 3.00 mm of play at the dial is 1.14 mm of clearance and 14.3 mrad of tilt."""
    angle = tilt.tilt_from_play(3.0e-3, DISTANCE)
    assert pytest.approx(14.3, abs=0.051) == angle * 1e3
    assert pytest.approx(1.14, abs=0.0051) == angle * SPAN * 1e3
    assert pytest.approx(1.31, abs=0.0051) == tilt.wedge(angle, HEIGHT) * 1e3


def test_dial_between_the_lands_reads_the_clearance_itself():
    """Between the lands the parallel shift c exceeds the tilt's movement: P = c up to A = l/2."""
    assert tilt.play_at_plane(0.001, SPAN, 0.0) == 0.001
    assert tilt.play_at_plane(0.001, SPAN, SPAN / 2) == 0.001
    assert tilt.play_at_plane(0.001, SPAN, SPAN) == 0.002


def test_play_of_a_pin_found_by_trying_every_position():
    """Hand-made mechanism: end offsets of the pin run over their whole range; stop to stop at the plane."""
    c, steps = 0.0008, np.linspace(-0.5, 0.5, 201)
    near, far = np.meshgrid(c * steps, c * steps)
    for plane in (0.01, 0.04, 0.105):
        place = (near + far) / 2 + (far - near) / SPAN * plane
        assert pytest.approx(place.max() - place.min(), rel=1e-12) == tilt.play_at_plane(c, SPAN, plane)


def test_tilt_follows_from_play_on_both_sides_of_the_land_edge():
    """The tilt read back from the play is the greatest the clearance allows, wherever the dial stands."""
    for distance in (0.02, 0.04, 0.105):
        play = tilt.play_at_plane(0.001, SPAN, distance)
        assert tilt.greatest_tilt(0.001, SPAN) == pytest.approx(
            tilt.tilt_from_play(play, distance, SPAN), rel=1e-14
        )


def test_worn_pads_fill_the_gaps_of_a_tilted_calliper():
    """Geometry by hand: outer gap grows by theta t, inner shrinks; the sum stays, the tapers oppose."""
    theta, mean, places = 0.0125, 0.009, np.array([-0.1, 0.1])
    outer, inner = mean + theta * places, mean - theta * places
    taper = tilt.tapers_from_tilt(theta, 0.2)
    assert pytest.approx((outer[0] - outer[1], inner[0] - inner[1])) == taper
    assert pytest.approx(tilt.antisymmetric_taper(*taper)) == -theta * 0.2
    assert tilt.symmetric_taper(*taper) == 0.0


def test_explained_taper_is_nearly_the_play_end_to_end_and_much_less_radially():
    """Derived: 0.95 P for measuring points 200 mm apart, 0.39 P for 82 mm, dial at 105 mm."""
    assert pytest.approx(0.95, abs=0.005) == tilt.explained_taper(1.0e-3, 0.200, DISTANCE) * 1e3
    assert pytest.approx(0.39, abs=0.005) == tilt.explained_taper(1.0e-3, 0.082, DISTANCE) * 1e3


def test_excess_and_its_uncertainty():
    """Hand sum: T_exp = 3 mm, u = sqrt(0.1^2 + (0.9524 * 0.075)^2 + 0.15^2) = 0.1938 mm (about 0.2)."""
    play = 3.0e-3 * 0.21 / 0.2
    u = tilt.excess_taper_uncertainty(play, 0.2, DISTANCE, u_taper=1e-4, u_play=0.75e-4)
    assert pytest.approx(math.sqrt(0.01 + (0.2 / 0.21 * 0.075) ** 2 + 0.0225) * 1e-3, rel=1e-12) == u
    assert pytest.approx(-1.0e-3, rel=1e-12) == tilt.excess_taper(-2.0e-3, play, 0.2, DISTANCE)


def test_half_the_play_limit_lets_new_pads_rub():
    """Derived: clearance 0.76 mm per side, pad 210 mm: 7.2 mrad, play 1.5 mm."""
    assert pytest.approx(7.2, abs=0.06) == tilt.rubbing_tilt(0.762e-3, LENGTH) * 1e3
    assert pytest.approx(1.5, abs=0.03) == tilt.rubbing_play(0.762e-3, LENGTH, DISTANCE) * 1e3
    angle = tilt.rubbing_tilt(0.762e-3, LENGTH)
    assert pytest.approx(0.762e-3) == tilt.pad_end_movement(angle, LENGTH)


def test_wear_before_the_wedge_fits_at_the_play_limit():
    """Derived: at the limit of play (3 mm, wedge 3 mm) 0.75 to 1.5 mm of mean wear."""
    least, most = tilt.wear_until_wedge_fits(3.0e-3 / LENGTH, LENGTH)
    assert pytest.approx((0.75e-3, 1.5e-3)) == (least, most)


def pins(**changes):
    values = {
        "long_clearance": 1.0e-3,
        "long_span": 0.08,
        "short_clearance_tangential": 2.0e-3,
        "short_clearance_radial": 0.3e-3,
        "short_span": 0.03,
        "pin_distance": 0.22,
    }
    return guide_pins.GuidePins(**(values | changes))


def test_oval_short_bushing_leaves_yaw_to_the_long_pin_but_limits_pitch():
    """Hand sum: yaw min(1/80, 2/30) = 12.5 mrad, pitch min(1/80, 0.3/30) = 10 mrad, roll 1.3/220."""
    assert pytest.approx(guide_pins.greatest_yaw(pins())) == 12.5e-3
    assert pytest.approx(guide_pins.greatest_pitch(pins())) == 10e-3
    assert pytest.approx(guide_pins.greatest_roll(pins())) == 1.3 / 220
    assert pytest.approx(guide_pins.greatest_yaw(pins(short_clearance_tangential=math.inf))) == 12.5e-3


def test_round_short_bushing_hinders_yaw_like_pitch():
    """A round bushing has one clearance: 0.3/30 both ways."""
    round_pins = pins(short_clearance_tangential=0.3e-3)
    assert guide_pins.greatest_yaw(round_pins) == guide_pins.greatest_pitch(round_pins)


def test_radial_play_grows_toward_the_short_pin():
    """P_r = 2 A pitch + share c2r: 2.1 mm over the long pin, 2.4 mm over the short one."""
    assert pytest.approx(guide_pins.radial_play_at_bridge(pins(), DISTANCE, 0.0)) == 2.1e-3
    assert pytest.approx(guide_pins.radial_play_at_bridge(pins(), DISTANCE, 1.0)) == 2.4e-3


def test_equal_radial_plays_are_pitch_and_different_ones_roll():
    """Two dials 180 mm apart: 2.1/2.1 mm is pure pitch; 1.0/2.8 mm adds a roll of 10 mrad."""
    assert pytest.approx(guide_pins.pitch_and_roll(2.1e-3, 2.1e-3, DISTANCE, 0.18)) == (0.01, 0.0)
    pitch, roll = guide_pins.pitch_and_roll(1.0e-3, 2.8e-3, DISTANCE, 0.18)
    assert pytest.approx((pitch, roll)) == (1.0e-3 / 0.21, 0.01)


def test_not_measured_stays_not_measured():
    """NaN in, NaN out, for floats and within arrays."""
    assert math.isnan(tilt.explained_taper(math.nan, 0.2, DISTANCE))
    assert math.isnan(tilt.play_at_plane(math.nan, SPAN, DISTANCE))
    result = tilt.excess_taper(np.array([1e-3, np.nan]), np.array([np.nan, 1e-3]), 0.2, DISTANCE)
    assert np.isnan(result).all()
    assert math.isnan(guide_pins.greatest_pitch(pins(short_clearance_radial=math.nan)))


@given(
    play=st.lists(st.floats(0.0, 0.02), min_size=1, max_size=8),
    distance=st.floats(0.01, 0.3),
    length=st.floats(0.0, 0.3),
)
@settings(deadline=None)
def test_one_wheel_end_gets_the_same_answer_as_a_batch(play, distance, length):
    """Scalar path equals array path, and more play never explains less."""
    batch = tilt.explained_taper(np.array(play), distance, length + 0.01)
    singly = [tilt.explained_taper(value, distance, length + 0.01) for value in play]
    assert singly == batch.tolist()
    ordered = tilt.explained_taper(np.sort(play), distance, length + 0.01)
    assert (np.diff(ordered) >= 0).all()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: tilt.greatest_tilt(-1e-3, SPAN), "clearance of the guide pin is -0.001 m"),
        (lambda: tilt.greatest_tilt(1e-3, 0.0), "span of the lands is 0 m"),
        (lambda: tilt.tilt_from_play(-1e-3, DISTANCE), "play of the calliper is -0.001 m"),
        (lambda: tilt.tilt_from_play(1e-3, 0.0), "distance of the dial from the middle of the lands is 0 m"),
        (lambda: tilt.magnification(-0.1, SPAN), "distance of the dial .* is -0.1 m"),
        (lambda: tilt.wedge(0.01, -0.2), "length of the pad is -0.2 m"),
        (lambda: tilt.rubbing_tilt(-1e-3, LENGTH), "running clearance per side is -0.001 m"),
        (lambda: tilt.wear_until_wedge_fits(-0.1, LENGTH), "tilt of the calliper is -0.1 rad"),
        (
            lambda: guide_pins.radial_play_at_bridge(pins(), DISTANCE, 1.5),
            "place of the dial .* Allowed: 0 to 1",
        ),
        (lambda: pins(short_span=0.0), "length of the short bushing is 0 m"),
        (
            lambda: tilt.excess_taper_uncertainty(1e-3, 0.2, DISTANCE, u_taper=-1e-4, u_play=0.0),
            "standard uncertainty of the taper is -0.0001 m",
        ),
        (lambda: tilt.greatest_tilt(np.array([1e-3, -2e-3]), SPAN), "clearance of the guide pin is -0.002 m"),
    ],
)
def test_impossible_geometry_is_refused(call, words):
    """Each refusal names the quantity, its value and what is allowed."""
    with pytest.raises(DomainError, match=words):
        call()
