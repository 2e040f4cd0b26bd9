"""The coefficient models against figures worked out from a published set."""

import numpy as np
import pytest

from calcs.losses import (
    compression_loss,
    laminar_leakage,
    model_hydromechanical_efficiency,
    model_volumetric_efficiency,
    torque_loss,
    turbulent_leakage,
)
from tests.golden import golden

MU, RHO, BULK_BAR = 27.84, 870, 17000
SET = (23.5e3, 0.0537, 53.6)


def test_leakage_of_the_published_set():
    assert golden("L04").close(laminar_leakage(4.26e-9, 107, 200, MU)), golden("L04").source


def test_hydromechanical_efficiency_of_the_published_set():
    lost = torque_loss(107, 2000, 200, MU, RHO, SET)
    assert golden("L06").close(100 * model_hydromechanical_efficiency(107, 200, lost)), golden("L06").source


def test_volumetric_efficiency_at_full_and_quarter_stroke():
    """Worked out from the same published set: 97.36 % and 92.98 %."""
    leak = laminar_leakage(4.26e-9, 107, 200, MU)
    for fraction, expected in ((1.0, 0.9736), (0.25, 0.9298)):
        lost = leak + compression_loss(107, 2000, 200, BULK_BAR, fraction)
        assert model_volumetric_efficiency(107, 2000, lost, fraction) == pytest.approx(expected, abs=5e-5)


def test_leakage_doubles_when_viscosity_halves():
    ratio = laminar_leakage(4.26e-9, 107, 200, MU / 2) / laminar_leakage(4.26e-9, 107, 200, MU)
    assert golden("L08").close(ratio)


def test_turbulent_leakage_goes_with_the_root_of_pressure_and_the_size_of_the_face():
    one = turbulent_leakage(1e-6, 107, 200, RHO)
    assert turbulent_leakage(1e-6, 107, 800, RHO) == pytest.approx(2 * one)
    assert turbulent_leakage(1e-6, 8 * 107, 200, RHO) == pytest.approx(4 * one)
    assert turbulent_leakage(1e-6, 107, 200, RHO * 4) == pytest.approx(one / 2)


def test_churning_is_alike_forward_and_reverse_and_dry_friction_alone_goes_with_pressure():
    assert torque_loss(107, 2000, 200, MU, RHO, SET, -1.0) == torque_loss(107, 2000, 200, MU, RHO, SET, 1.0)
    dry = torque_loss(107, 2000, np.array([0.0, 100.0, 200.0]), MU, RHO, (0, 0.05, 0))
    assert dry.tolist() == pytest.approx([0, 0.05 * 107 * 100 / (20 * np.pi), 0.05 * 107 * 200 / (20 * np.pi)])


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: laminar_leakage(1e-9, 0, 1, 1), "displacement_cc"),
        (lambda: laminar_leakage(1e-9, 1, 1, 0), "dynamic_mpas"),
        (lambda: turbulent_leakage(1e-6, 107, -1, RHO), "pressure_bar"),
        (lambda: turbulent_leakage(1e-6, 107, 1, 0), "density_kgm3"),
        (lambda: compression_loss(1, 1, 1, 0), "bulk_modulus_bar"),
        (lambda: compression_loss(1, 1, 1, 1, 1.1), "fraction"),
        (lambda: torque_loss(0, 1, 1, 1, 1, SET), "displacement_cc"),
        (lambda: torque_loss(1, 1, 1, 1, 1, SET, -1.5), "fraction"),
        (lambda: model_volumetric_efficiency(1, 1, 1, 0), "fraction"),
        (lambda: model_hydromechanical_efficiency(1, 0, 1), "pressure_bar"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call, named):
    with pytest.raises(ValueError, match=named):
        call()
