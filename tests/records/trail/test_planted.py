"""Every planted amendment is found and none invented, whatever branches, moves and spellings lie between."""

import subprocess
from collections import Counter

import pytest
from kept_history import KeptHistory
from planted_history import PlantedHistory


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_planted_amendment_is_found_and_none_invented(history: KeptHistory, seed: int) -> None:
    planted = PlantedHistory(files=60, commits=400, seed=seed).grow()
    subprocess.run(
        ["git", "-C", str(history.top), "fast-import", "--quiet"], input=planted.stream, check=True, capture_output=True
    )
    trail = history.trail()
    found = Counter(
        (record.recorded.subject, one.field, one.kind, one.old, one.new, one.commit.author)
        for record in trail.records
        if record.recorded is not None
        for one in record.amendments
    )
    listing = history.git("ls-tree", "-r", "--name-only", "main").splitlines()
    assert sorted(record.path for record in trail.records if record.here) == sorted(listing)
    assert len(trail.records) == len(listing) == 60
    assert found == planted.planted
    assert sum(turn.what == "moved" for record in trail.records for turn in record.turns) == planted.moves
    assert {turn.what for record in trail.records for turn in record.turns} == {"moved"}
    assert not any(one.left_out for record in trail.records for one in record.amendments)
