import numpy as np
import pandas as pd

from calcs.pooling import ALONE, kin_units, representative
from calcs.series import lay_out


def laid(units):
    rng = np.random.default_rng(1)
    hours = np.cumsum(rng.uniform(100, 500, (units, 3)), axis=1)
    frame = pd.DataFrame({"series": np.repeat(rng.permutation(units), 3), "group": 1, "life_h": hours.ravel(), "ratio": 1.0})
    return lay_out(frame.assign(cv=np.nan, scale="log"))


def test_kin_counts_less_the_larger_the_group_and_not_at_all_for_large_ones():
    units = [kin_units(number) for number in range(0, 80)]
    assert units[0] == 10 and np.all(np.diff(units) <= 0) and kin_units(ALONE) == 0


def test_a_small_group_speaks_for_itself():
    assert representative(laid(50), np.arange(50), 100).tolist() == list(range(50))


def test_those_who_speak_for_a_large_group_span_its_hours():
    layout = laid(500)
    chosen = representative(layout, np.arange(500), 50)
    last = layout.hours[layout.start + layout.count - 1]
    assert len(chosen) == 50 and {last.argmin(), last.argmax()} <= set(chosen.tolist())
    assert abs(np.median(last[chosen]) - np.median(last)) < 60


def test_labels_have_no_say_in_the_choice():
    layout = laid(300)
    shuffled = lay_out(
        pd.DataFrame(
            {"series": layout.spread(np.arange(300)[::-1]), "group": 1, "life_h": layout.hours, "ratio": 1.0, "cv": np.nan}
        ).assign(scale="log")
    )
    ours, theirs = (part.hours[part.start[representative(part, np.arange(300), 40)]] for part in (layout, shuffled))
    assert sorted(ours) == sorted(theirs)
