"""Imbalance of an axle with a brake that gives no force at all.

I = 1 - s/g; by the law of propagation (JCGM 100:2008, 5.1.2) u(I)^2 = (u_s/g)^2 + (s u_g/g^2)^2. The numbers
below are hand sums of it with the roller's 3 % (k = 2), so 1.5 % standard, and its absolute part.
"""

import json
from pathlib import Path

import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.cli.main import run

CASE = Path(__file__).parents[1] / "cases" / "A1.toml"


def imbalance_of(tmp_path, capsys, force):
    """Axle 1 of an invented vehicle: 21.5 kN at one end, ``force`` at the other."""
    file = tmp_path / "axle.toml"
    text = CASE.read_text(encoding="utf-8")
    assert '"14.2 kN"' in text
    file.write_text(text.replace('"14.2 kN"', f'"{force} kN"'), encoding="utf-8")
    run(["judge", str(file), "--today", "2026-11-25", "--json"])
    return json.loads(capsys.readouterr().out)["axles"][0]["imbalance"]


@pytest.mark.parametrize("force", [0.0, 1.0, 14.2, 21.4])
def test_uncertainty_of_imbalance_follows_the_law_of_propagation(tmp_path, capsys, force):
    spec = load_catalogue().fields["brake_force"]
    found = imbalance_of(tmp_path, capsys, f"{force:.1f}")
    greater, smaller = 21.5e3, force * 1e3
    u_greater, u_smaller = spec.standard_uncertainty(greater), spec.standard_uncertainty(smaller)
    expected = ((u_smaller / greater) ** 2 + (smaller * u_greater / greater**2) ** 2) ** 0.5
    assert found["value"] == pytest.approx(100.0 * (1.0 - smaller / greater), abs=1e-4)
    assert found["u"] == pytest.approx(100.0 * expected, abs=1e-4)


def test_a_brake_without_force_is_beyond(tmp_path, capsys):
    """100 % apart, beyond any limit of imbalance; warnings are errors here."""
    found = imbalance_of(tmp_path, capsys, "0.0")
    assert (found["value"], found["verdict"]) == (100.0, "beyond")
