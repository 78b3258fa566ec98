"""Judging one inspection needs the geometry only, so the geometry must not wait for an array library."""

import subprocess
import sys

import pytest


@pytest.mark.parametrize("module", ["tilt", "guide_pins", "indicator", "stroke", "chamber", "states"])
def test_geometry_and_states_load_without_numpy(module):
    """House rule of start-up time: these modules import no numpy until they are given an array."""
    code = f"import sys, wearline.physics.{module}; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
