import numpy as np
import pytest
from scipy.integrate import solve_ivp

from calcs.wear_metals import effective_hours, generation_rate, metal_in_fill, metal_readings, rates_over_fills


def test_balance_agrees_with_the_differential_equation():
    solved = solve_ivp(lambda t, c: 0.02 - 4e-4 * c, (0, 900), [3.0], rtol=1e-10, atol=1e-12).y[0, -1]
    assert metal_in_fill(0.02, 900.0, 3.0, 4e-4) == pytest.approx(solved, rel=1e-8)


def test_rate_comes_back_from_the_metal_it_made():
    metal = metal_in_fill(0.02, 900.0, 3.0, 4e-4)
    assert generation_rate(metal, 900.0, 3.0, 4e-4).rate_ppm_per_h == pytest.approx(0.02)


def test_little_make_up_is_the_limit_of_none():
    assert effective_hours(500.0, 1e-9) == pytest.approx(500.0, rel=1e-6)


def test_a_sample_at_zero_hours_has_no_rate():
    assert np.isnan(generation_rate(5.0, 0.0).rate_ppm_per_h)


def test_early_samples_are_the_doubtful_ones():
    found = generation_rate([1.0, 10.0], [50.0, 500.0])
    assert found.uncertainty_ppm_per_h[0] > 4 * found.uncertainty_ppm_per_h[1]


def test_steady_wear_shows_one_rate_over_all_fills():
    metal, start, found, ends = [], 0.0, [], []
    for fill in range(4):
        for hours in (300.0, 800.0):
            metal.append(float(metal_in_fill(0.015, hours, start, 2e-4)))
            found.append((fill, hours))
            ends.append(1000.0)
        start = 0.2 * float(metal_in_fill(0.015, 1000.0, start, 2e-4))
    fill, hours = np.array(found).T
    rates = rates_over_fills(metal, hours, fill, ends, carry=0.2, makeup_per_h=2e-4)
    assert rates.rate_ppm_per_h == pytest.approx(np.full(8, 0.015))


def test_readings_without_a_rate_above_zero_cannot_be_judged():
    columns = metal_readings(generation_rate([0.0, 8.0], [400.0, 400.0], start_ppm=1.0), [400.0, 800.0], 0.02)
    assert np.isnan(columns["ratio"][0]) and columns["ratio"][1] > 0


@pytest.mark.parametrize(("call", "message"), [
    (lambda: effective_hours(1.0, -1.0), "makeup_per_h"),
    (lambda: rates_over_fills([1.0], [1.0], [1], [1.0], carry=1.0), "carry"),
    (lambda: metal_readings(generation_rate(1.0, 1.0), 1.0, 0.0), "usual_rate"),
])  # fmt: skip
def test_impossible_figures_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
