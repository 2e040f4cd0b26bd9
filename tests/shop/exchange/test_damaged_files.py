"""Damaged files of every kind: none raises, none writes in part. Thousands more are tried by `tests/faults/fuzz_imports.py`."""

from tests.faults.fuzz_imports import run, waiting_sample


def test_four_hundred_damaged_files_are_taken_or_refused_whole(floor, technician):
    waiting_sample(floor)
    tally, _ = run(400, 7, technician)
    assert [name for name in tally if name.startswith(("UNCAUGHT", "PARTIAL"))] == []
    assert tally["all rows taken"] + tally["some rows taken"] > 20, "else nothing was tried"
    assert tally["refused as a whole"] > 20
