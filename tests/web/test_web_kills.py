"""A program killed during sync: no acknowledged entry is lost, none is doubled, order is kept."""

from __future__ import annotations

from web_kills import kill_while_syncing


def test_50_kills_during_sync_lose_and_double_nothing(tmp_path):
    found = kill_while_syncing(tmp_path, 50, 20261001)
    assert found.faults == []
    assert found.kills == 50
    assert found.killed_while_sending > 10
    assert (found.lost, found.doubled, found.out_of_order, found.missing_at_the_end) == (0, 0, 0, 0)
    assert found.acknowledged == found.made > 500


def test_a_tablet_that_forgets_too_early_is_found_out(tmp_path):
    """The test can fail: a tablet that deletes what is not acknowledged is caught losing entries."""
    found = kill_while_syncing(tmp_path, 4, 20261002, early=True)
    assert found.lost > 0 or found.missing_at_the_end > 0
