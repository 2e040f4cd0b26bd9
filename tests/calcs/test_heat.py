"""Heat of the drive against textbook examples, a unit library and limit cases."""

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.heat import compressed_rise_k, heat_loss_kw, relief_heating_ks, thermal_efficiency, throttled_rise_k
from tests.golden import golden

BTU_PER_HP_H = 2544  # as rounded in the textbooks
KW_PER_HP = 0.74569987158


def test_relief_valve_of_the_textbook_in_us_units():
    """Esposito, Ex. 11-2: oil of 7.42 lb/gal and 0.42 Btu/(lb degF), as that book gives them."""
    ureg = pint.UnitRegistry()
    density_kgm3 = (7.42 * ureg("lb/gallon")).to("kg/m**3").magnitude
    specific_heat_jkgk = (0.42 * ureg("Btu/(lb*delta_degF)")).to("J/(kg*K)").magnitude
    rise_k = throttled_rise_k((1000 * ureg("psi")).to("bar").magnitude, density_kgm3, specific_heat_jkgk)
    assert golden("T01").close(120 + 1.8 * rise_k)


def test_relief_valve_of_the_textbook_in_si_units():
    assert golden("T02").close(50 + throttled_rise_k(70, density_kgm3=895, specific_heat_jkgk=1800))


def test_six_kelvin_for_each_hundred_bar():
    assert golden("T08").close(throttled_rise_k(100, density_kgm3=870, specific_heat_jkgk=1900))
    assert golden("T08").close(throttled_rise_k(100))


def test_compression_and_expansion_share_the_rise():
    """Worked by hand at 50 degC: 1.37 K by compression, 4.68 K by expansion."""
    assert compressed_rise_k(100, oil_temp_c=50) == pytest.approx(1.37, abs=0.005)
    assert throttled_rise_k(100) - compressed_rise_k(100, oil_temp_c=50) == pytest.approx(4.68, abs=0.005)


def test_heat_exchanger_of_the_textbook():
    """Esposito, Ex. 11-4: pump loss, half the time over the relief valve, a tenth of the rest lost in the lines."""
    useful_kw = (20 * 1000 / 1714) * KW_PER_HP
    heat_kw = heat_loss_kw(useful_kw / 0.85, 0.85) + 0.5 * heat_loss_kw(useful_kw, 0) + 0.5 * heat_loss_kw(useful_kw, 0.90)
    assert golden("T04").close(heat_kw / KW_PER_HP * BTU_PER_HP_H)


def test_heat_over_four_hours():
    assert golden("T07").close(heat_loss_kw(8 * KW_PER_HP, 5 / 8) / KW_PER_HP * 4 * BTU_PER_HP_H)


def test_heat_of_the_reference_drive():
    assert golden("T10").close(heat_loss_kw(75, 0.95**2 * 0.93**2))


def test_relief_test_of_the_reference_drive():
    assert golden("T11").close(relief_heating_ks(420, flow_lpm=209, loop_volume_l=3))


@given(st.floats(10, 500), st.floats(20, 90), st.floats(0.3, 1))
def test_the_efficiency_put_in_comes_out_of_the_temperatures(pressure_bar, inlet_c, efficiency):
    outlet_c = inlet_c + compressed_rise_k(pressure_bar, inlet_c) + (1 / efficiency - 1) * throttled_rise_k(pressure_bar)
    assert thermal_efficiency(pressure_bar, inlet_c, outlet_c) == pytest.approx(efficiency, rel=1e-6)


def test_a_pump_of_ninety_per_cent_at_two_hundred_bar():
    """Worked by hand: 4.08 K; 0.1 K more is 0.67 points less, 1 K is 6.7."""
    assert thermal_efficiency(200, 50, 54.08) == pytest.approx(0.90, abs=0.001)
    assert thermal_efficiency(200, 50, 54.08) - thermal_efficiency(200, 50, 54.18) == pytest.approx(0.0067, abs=0.0002)


def test_a_perfect_pump_only_compresses():
    assert thermal_efficiency(200, 50, 50 + compressed_rise_k(200, 50)) == pytest.approx(1)


def test_arrays_give_what_single_numbers_give():
    pressures = np.array([0.0, 100.0, 300.0])
    assert throttled_rise_k(pressures) == pytest.approx([throttled_rise_k(p) for p in pressures])
    assert compressed_rise_k(pressures, 50) == pytest.approx([compressed_rise_k(p, 50) for p in pressures])
    assert heat_loss_kw(np.array([75.0, 0.0]), 0.8) == pytest.approx([15, 0])
    assert relief_heating_ks(pressures, 209, 3)[0] == 0


def test_impossible_heat_is_refused():
    for numbers, name in {(-1, 0.5): "power_in_kw", (1, 1.1): "efficiency_share", (1, -0.1): "efficiency_share"}.items():
        with pytest.raises(ValueError, match=name):
            heat_loss_kw(*numbers)
    assert heat_loss_kw(10, 1) == 0
    for numbers, name in {(-1, 870, 1900): "pressure_drop_bar", (1, 0, 1900): "density_kgm3", (1, 870, 0): "specific_heat_jkgk"}.items():
        with pytest.raises(ValueError, match=name):
            throttled_rise_k(*numbers)
    with pytest.raises(ValueError, match="outlet_temp_c must not be below that of a perfect pump, got 50"):
        thermal_efficiency(200, 50, 50)
    with pytest.raises(ValueError, match="pressure_rise_bar"):
        thermal_efficiency(0, 50, 50)
    for numbers, name in {(420, -1, 3): "flow_lpm", (420, 209, 0): "loop_volume_l"}.items():
        with pytest.raises(ValueError, match=name):
            relief_heating_ks(*numbers)


OTHER_OIL = {"density_kgm3": 1000, "specific_heat_jkgk": 4000}


def test_another_oil_warms_in_its_own_way():
    """Worked by hand: 100 bar over 4 MJ/(m3 K) is 2.5 K; 1e-3/K at 300 K compresses three tenths of that."""
    assert throttled_rise_k(100, **OTHER_OIL) == pytest.approx(2.5)
    assert compressed_rise_k(100, 26.85, **OTHER_OIL, expansion_per_k=1e-3) == pytest.approx(0.75)
    assert thermal_efficiency(100, 26.85, 26.85 + 0.75 + 2.5, **OTHER_OIL, expansion_per_k=1e-3) == pytest.approx(0.5)
    assert relief_heating_ks(100, flow_lpm=60, loop_volume_l=1, **OTHER_OIL) == pytest.approx(2.5)


def test_small_numbers_are_let_in():
    assert throttled_rise_k(1, density_kgm3=0.5, specific_heat_jkgk=0.5) == pytest.approx(4e5)
    assert relief_heating_ks(100, flow_lpm=0, loop_volume_l=0.5) == 0
    assert 0 < thermal_efficiency(0.5, 50, 51) < 1
    with pytest.raises(ValueError, match="outlet_temp_c"):
        thermal_efficiency(200, 50, 50 + compressed_rise_k(200, 50) - 0.5)
