"""What laboratories print in their cells, and what it counts as."""

import pytest

from calcs.lab_figures import LabFigure, counted_value, parse_lab_figure, parse_water_ppm


@pytest.mark.parametrize(
    ("text", "value"), [("38", 38), ("46,2", 46.2), (" 6.8 ", 6.8), ("0", 0), ("650 ppm", 650), ("0.05%", 0.05), ("12 mg/kg", 12)]
)
def test_figures_are_read(text, value):
    figure = parse_lab_figure(text)
    assert figure.value == pytest.approx(value)
    assert not figure.is_censored


def test_units_stay_with_the_figure():
    assert parse_lab_figure("650 PPM").unit == "ppm"
    assert parse_lab_figure("0.05 %").unit == "%"
    assert parse_lab_figure("38").unit == ""


def test_figures_below_and_above_a_limit_keep_their_sign():
    assert parse_lab_figure("<1") == LabFigure(1, "<")
    assert parse_lab_figure("< 0,05") == LabFigure(0.05, "<")
    assert parse_lab_figure(">1000") == LabFigure(1000, ">")
    assert parse_lab_figure("<1").is_censored
    assert parse_lab_figure(">1000").is_censored


@pytest.mark.parametrize("text", ["ND", "nd", "N.D.", "none detected", " not detected "])
def test_not_detected_is_below_an_unnamed_limit(text):
    assert parse_lab_figure(text) == LabFigure(None, "<")


@pytest.mark.parametrize("text", ["", " ", "..", ".", "-", "n/a", "NA", "--", "..."])
def test_not_measured_is_none_and_not_zero(text):
    assert parse_lab_figure(text) is None


@pytest.mark.parametrize("text", ["high", "1.2.3", "-5", "<", "< ND", "5 litres", "1 200,5"])
def test_what_is_no_figure_is_refused(text):
    with pytest.raises(ValueError, match="text must be a laboratory figure, got"):
        parse_lab_figure(text)


def test_a_figure_below_a_limit_counts_as_half_of_it():
    assert counted_value(LabFigure(1, "<")) == 0.5
    assert counted_value(LabFigure(None, "<"), detection_limit=3) == 1.5
    assert counted_value(LabFigure(1, "<"), detection_limit=3) == 0.5
    assert counted_value(LabFigure(None, "<")) is None
    assert counted_value(LabFigure(38)) == 38
    assert counted_value(LabFigure(1000, ">")) == 1000
    assert counted_value(None) is None


def test_water_in_per_cent_and_in_ppm_lie_on_one_scale():
    """650 ppm is 0.065 %."""
    assert parse_water_ppm("650 ppm") == parse_water_ppm("0.065 %") == parse_water_ppm("0,065") == LabFigure(650, "", "ppm")
    assert parse_water_ppm("650", is_percent=False) == LabFigure(650, "", "ppm")
    assert parse_water_ppm("0.065%", is_percent=False) == LabFigure(650, "", "ppm")
    assert parse_water_ppm("650 mg/kg") == LabFigure(650, "", "ppm")
    assert parse_water_ppm("<0.05") == LabFigure(500, "<", "ppm")


def test_water_not_measured_and_not_detected():
    assert parse_water_ppm("") is None
    assert parse_water_ppm("ND") == LabFigure(None, "<")


def test_a_plain_ppm_figure_in_a_per_cent_column_is_refused():
    with pytest.raises(ValueError, match="text must be at most all water, got 650"):
        parse_water_ppm("650")
    assert parse_water_ppm("100").value == 1e6


def test_water_is_not_rounded_to_whole_ppm():
    assert parse_water_ppm("0.00655").value == pytest.approx(65.5)
    with pytest.raises(ValueError, match="text must be at most all water"):
        parse_water_ppm("100.5")
