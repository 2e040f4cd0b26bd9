"""Orifice flow against a fluid-mechanics library and limit cases."""

import numpy as np
import pytest
from fluids.flow_meter import flow_meter_discharge
from hypothesis import given
from hypothesis import strategies as st

from calcs.orifice import orifice_flow_lpm


@given(st.floats(0.3, 2), st.floats(0.5, 300), st.floats(800, 950))
def test_flow_agrees_with_the_library_for_a_hole_in_a_wide_pipe(orifice_mm, pressure_drop_bar, density_kgm3):
    mass_kgs = flow_meter_discharge(
        D=1.0, Do=orifice_mm / 1000, P1=pressure_drop_bar * 1e5, P2=0.0, rho=density_kgm3, C=0.62, expansibility=1.0
    )
    assert orifice_flow_lpm(orifice_mm, pressure_drop_bar, density_kgm3) == pytest.approx(mass_kgs / density_kgm3 * 60_000)


def test_flow_follows_area_and_the_root_of_the_pressure():
    assert orifice_flow_lpm(1.6, 12) == pytest.approx(4 * orifice_flow_lpm(0.8, 12))
    assert orifice_flow_lpm(0.8, 48) == pytest.approx(2 * orifice_flow_lpm(0.8, 12))
    assert orifice_flow_lpm(0.8, 12, discharge_share=0.31) == pytest.approx(orifice_flow_lpm(0.8, 12) / 2)
    assert orifice_flow_lpm(0.8, 12) == pytest.approx(orifice_flow_lpm(0.8, 12, density_kgm3=870))
    assert orifice_flow_lpm(np.array([0.8, 0.8]), np.array([0.0, 12.0]))[0] == 0


def test_impossible_orifices_are_refused():
    refused = {(0, 12, 870, 0.6): "orifice_mm", (1, -1, 870, 0.6): "pressure_drop_bar", (1, 12, 0, 0.6): "density_kgm3"}
    refused |= {(1, 12, 870, 0): "discharge_share", (1, 12, 870, 1.1): "discharge_share"}
    for numbers, name in refused.items():
        with pytest.raises(ValueError, match=name):
            orifice_flow_lpm(*numbers)
    assert orifice_flow_lpm(1, 12, discharge_share=1) > 0
