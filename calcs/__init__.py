"""Numbers of the hydrostatic drive and of its upkeep: physics, statistics and date sums, pure.

Nothing here knows Django, files, a clock or unseeded chance: `today`, `now_hours` and seeds are arguments.
Each public function is a small essay; `tests/test_house.py` holds the form.
"""

EDITION = "1"  # of the calculation: raised when a law, a limit or a default changes what a kept judgement would say
