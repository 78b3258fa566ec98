"""Files of recorded drives: what is read, and every slip refused."""

from __future__ import annotations

import pytest

from wearline.errors import FileFormatError, InputError
from wearline.ingest.drives import drive_from_text, read_drive


def test_columns_and_units():
    drive = drive_from_text("time_s,speed_kmh,slope_percent\n0,36,0\n2,72,6\n", "t")
    assert (0.0, 2.0) == drive.time
    assert pytest.approx((10.0, 20.0)) == drive.speed
    assert pytest.approx((0.0, 0.06)) == drive.slope
    mph = drive_from_text("# run\nTime [s];Speed [mph]\n0;50\n1;60\n", "t")
    assert pytest.approx(60 * 0.44704) == mph.speed[1]
    assert mph.slope == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the file has 0 lines"),
        ("time_s,speed_kmh\n0,50\n", "the drive has 1 samples"),
        ("time_s,speed_kmh\n0,50\n2,50\n1,50\n", "line 4.*time runs back from 2 s to 1 s"),
        ("time_s,speed_kmh\n0,50\n0,50\n", "time runs back"),
        ("time_s,speed_kmh\n0,500\n1,50\n", "the speed is 500.0 km/h"),
        ("time_s,speed_kmh\n0,-5\n1,50\n", "the speed is -5.0 km/h"),
        ("time_s,speed_kmh,slope_percent\n0,50,45\n1,50,0\n", "the slope is 45.0 %"),
        ("time_s,speed_kmh\n0,x\n1,50\n", "line 2, speed: 'x' is not a number"),
        ("time_s,speed_kmh\n0\n1,50\n", "'' is not a number"),
        ("time_s,speed\n0,50\n1,50\n", "names no unit"),
        ("time_s,speed_bar\n0,50\n1,50\n", "bar"),
        ("time_s,height_m\n0,50\n1,50\n", "'height_m' is no column"),
        ("time_s\n0\n1\n", "the column 'speed' is missing"),
    ],
)
def test_every_slip_is_refused(text, words):
    with pytest.raises(InputError, match=words):
        drive_from_text(text, "t")


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(FileFormatError, match="cannot be read"):
        read_drive(tmp_path / "none.csv")
