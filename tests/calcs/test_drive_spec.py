"""The facts a healthy drive is worked out from."""

import pytest

from calcs.drive_spec import Conditions, DriveSpec


def test_the_charge_pump_turns_with_the_pump_unless_said_otherwise():
    assert DriveSpec(pump_speed_ratio=1.2).charge_ratio == 1.2
    assert DriveSpec(pump_speed_ratio=1.2, charge_speed_ratio=0.9).charge_ratio == 0.9


def test_a_direction_that_is_none_is_refused():
    with pytest.raises(ValueError, match="direction must be forward, reverse or empty, got 'left'"):
        Conditions(direction="left")
