"""A large fleet from a sorted Parquet file: the same answers as from the table, portions, faults named."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from model_fleets import draw_fleet

from wearline.errors import FileFormatError, ReadingError
from wearline.forecasting.portions import infer_portions
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.wear_model import FleetTable, fit_hyper, infer_fleet
from wearline.ingest.wear_history import COLUMNS, open_wear_history

SETTINGS = ForecastSettings()
DUTIES = ("regional", "coach, retarder")
ROLES = ("steer", "drive")


def frame_of(table: FleetTable) -> pl.DataFrame:
    """The readings of a drawn fleet as the file has them."""
    tracks, readings = table.tracks, table.readings
    owner = np.repeat(np.arange(tracks.n), tracks.count)

    def column(values):
        return pl.Series(values).fill_nan(None)

    millimetre = {"friction_mm": readings.value, "u_mm": readings.u}
    open_ended = {"low_mm": readings.low, "high_mm": readings.high}
    return pl.DataFrame(
        {
            "vehicle": [f"V{number:05d}" for number in tracks.vehicle[owner]],
            "wheel_end": tracks.end[owner] % 8,
            "pad_set": tracks.padset[owner],
            "duty": [DUTIES[int(second)] for second in tracks.design[owner, 1]],
            "role": [ROLES[int(drive)] for drive in tracks.design[owner, 2]],
            "new_mm": tracks.new[owner] * 1e3,
            "run_km": readings.run / 1e3,
            **{name: column(values * 1e3) for name, values in millimetre.items()},
            **{
                name: column(np.where(np.isinf(values), np.nan, values * 1e3))
                for name, values in open_ended.items()
            },
        }
    )


@pytest.fixture(scope="module")
def fleet():
    return draw_fleet(60, 5, unrecorded=0.05).table


@pytest.fixture
def path(fleet, tmp_path):
    made = tmp_path / "fleet.parquet"
    frame_of(fleet).write_parquet(made, row_group_size=500)
    return made


def test_the_file_gives_back_the_table(fleet, path):
    history = open_wear_history(path, SETTINGS)
    assert history.vehicles == 60
    (table,) = history.portions()
    with_reading = fleet.tracks.count > 0
    np.testing.assert_array_equal(table.tracks.count, fleet.tracks.count[with_reading])
    np.testing.assert_array_equal(table.tracks.vehicle, fleet.tracks.vehicle[with_reading])
    np.testing.assert_array_equal(table.tracks.end, fleet.tracks.end[with_reading])
    for name in ("run", "value", "u", "low", "high"):
        expected, found = getattr(fleet.readings, name), getattr(table.readings, name)
        thin = fleet.readings.value <= SETTINGS.censored
        np.testing.assert_allclose(found[~thin], expected[~thin], rtol=1e-12)
    np.testing.assert_array_equal(np.isnan(table.readings.value), np.isnan(fleet.readings.value) | thin)
    columns = [table.effects.index(name) for name in (*sorted(DUTIES), *ROLES)]
    design = table.tracks.design[:, columns]
    first, second, drive = fleet.tracks.design[with_reading].T
    np.testing.assert_array_equal(design, np.column_stack([second, first, 1.0 - drive, drive]))


@pytest.mark.parametrize("size", [7, 60, 1000])
def test_portions_give_what_the_whole_gives(path, size):
    history = open_wear_history(path, SETTINGS)
    hyper = fit_hyper(history.some(), SETTINGS)
    (whole,) = history.portions()
    known = infer_fleet(whole, hyper, sweeps=2)
    found = infer_portions(history.portions(size), hyper)
    last = np.flatnonzero(np.r_[whole.tracks.end[1:] != whole.tracks.end[:-1], True])
    np.testing.assert_allclose(found.rate, np.exp(known.mean[last]), rtol=1e-6)
    np.testing.assert_allclose(found.log_spread, np.sqrt(known.variance[last]), rtol=1e-6)
    np.testing.assert_array_equal(found.vehicle, whole.tracks.vehicle[last])
    np.testing.assert_allclose(found.run, known.sums.last[last], rtol=1e-6)
    friction = known.sums.level[last] + known.sums.slope[last] * np.exp(known.mean[last])
    np.testing.assert_allclose(found.friction, friction, rtol=1e-6)
    assert (found.u_friction > 0.0).all()


def test_two_rounds_are_as_good_as_many(path):
    """No rate moves by more than a tenth of its own spread, and on the mean by less than a hundredth."""
    history = open_wear_history(path, SETTINGS)
    (whole,) = history.portions()
    hyper = fit_hyper(whole, SETTINGS)
    two, many = (infer_fleet(whole, hyper, sweeps=sweeps) for sweeps in (2, 8))
    moved = np.abs(two.mean - many.mean) / np.sqrt(many.variance)
    assert float(moved.max()) < 0.1
    assert float(moved.mean()) < 0.01


def test_some_vehicles_are_spread_over_the_file(path, fleet):
    some = open_wear_history(path, SETTINGS).some(6)
    expected = [
        fleet.tracks.count[fleet.tracks.vehicle == number].sum() for number in (0, 11, 23, 35, 47, 59)
    ]
    found = [some.tracks.count[some.tracks.vehicle == number].sum() for number in range(6)]
    assert found == expected


def test_faults_are_left_out_portion_by_portion(path):
    history = open_wear_history(path, SETTINGS)
    hyper = fit_hyper(history.some(), SETTINGS)
    plain = infer_portions(history.portions(), hyper)
    cleaned = infer_portions(history.portions(20), hyper, faults=SETTINGS)
    assert cleaned.rate.size == plain.rate.size
    # a change that nobody recorded makes the wear look slow
    assert float((cleaned.rate / plain.rate).max()) > 1.3


def test_no_vehicle_gives_no_row(tmp_path, fleet):
    made = tmp_path / "none.parquet"
    frame_of(fleet).clear().write_parquet(made)
    history = open_wear_history(made, SETTINGS)
    assert history.vehicles == 0
    assert infer_portions(history.portions(), fit_hyper(fleet, SETTINGS)).rate.size == 0


def test_something_else_is_refused(tmp_path):
    made = tmp_path / "not.parquet"
    made.write_text("thickness 12 mm")
    with pytest.raises(FileFormatError, match="no Parquet file"):
        open_wear_history(made, SETTINGS)


@pytest.mark.parametrize("name", COLUMNS)
def test_a_missing_column_is_named(tmp_path, fleet, name):
    made = tmp_path / "fleet.parquet"
    frame_of(fleet).drop(name).write_parquet(made)
    with pytest.raises(FileFormatError, match=f"missing: {name}"):
        open_wear_history(made, SETTINGS)


def test_scattered_vehicles_are_refused(tmp_path, fleet):
    made = tmp_path / "fleet.parquet"
    frame = frame_of(fleet)
    pl.concat([frame[30:], frame[:30]]).write_parquet(made)
    with pytest.raises(FileFormatError, match="do not stand side by side"):
        open_wear_history(made, SETTINGS)


def test_an_unknown_role_is_refused(tmp_path, fleet):
    made = tmp_path / "fleet.parquet"
    frame_of(fleet).with_columns(role=pl.lit("spare")).write_parquet(made)
    with pytest.raises(FileFormatError, match="role is 'spare'"):
        open_wear_history(made, SETTINGS)


@pytest.mark.parametrize("key", ["wheel_end", "run_km"])
def test_rows_out_of_order_are_refused(tmp_path, fleet, key):
    made = tmp_path / "fleet.parquet"
    frame_of(fleet).sort("vehicle", key, descending=[False, True]).write_parquet(made)
    with pytest.raises(FileFormatError, match="are not sorted"):
        list(open_wear_history(made, SETTINGS).portions())


@pytest.mark.parametrize(
    ("column", "value"),
    [("run_km", -1.0), ("run_km", None), ("new_mm", 0.0), ("new_mm", None), ("u_mm", 0.0)],
)
def test_an_impossible_number_is_named_with_its_place(tmp_path, fleet, column, value):
    made = tmp_path / "fleet.parquet"
    first = pl.int_range(pl.len()) == 0
    changed = pl.when(first).then(pl.lit(value, dtype=pl.Float64)).otherwise(pl.col(column)).alias(column)
    frame_of(fleet).with_columns(changed).write_parquet(made)
    with pytest.raises(ReadingError, match=f"vehicle V00000.*{column} is"):
        list(open_wear_history(made, SETTINGS).portions())
