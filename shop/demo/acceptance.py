"""What the invented makers accept, in the several forms that makers use."""

WARM = {"oil_low_c": 45.0, "oil_high_c": 85.0}
TIGHT = {"oil_low_c": 50.0, "oil_high_c": 80.0}

RULES: dict[str, list[dict]] = {
    "HD75": [
        {"quantity": "charge_neutral", "form": "band", "low": 20.5, "high": 24.2, "page": "41", **WARM},
        {"quantity": "charge_stroked", "form": "share_of_neutral", "share": 0.8, "page": "42", **WARM},
        {"quantity": "main_relief", "direction": "forward", "form": "nominal", "nominal": 422.0, "tolerance": 15.0, "page": "43", **TIGHT},
        {"quantity": "main_relief", "direction": "reverse", "form": "nominal", "nominal": 422.0, "tolerance": 15.0, "page": "43", **TIGHT},
        {"quantity": "neutral_creep", "form": "no_motion", "page": "46"},
        {"quantity": "case_pressure", "form": "maximum", "high": 2.5, "page": "45"},
        {"quantity": "filter_differential", "form": "maximum", "high": 2.5, "page": "47", **WARM},
    ],
    "VK110": [
        {"quantity": "charge_neutral", "form": "nominal", "nominal": 24.5, "tolerance": 2.2, "page": "5-12", **WARM},
        {"quantity": "charge_stroked", "form": "greatest_drop", "high": 5.0, "page": "5-13", **WARM},
        {"quantity": "main_relief", "direction": "forward", "form": "band", "low": 430.0, "high": 458.0, "page": "5-15", **TIGHT},
        {"quantity": "main_relief", "direction": "reverse", "form": "band", "low": 426.0, "high": 458.0, "page": "5-15", **TIGHT},
        {"quantity": "cross_port_leakage", "form": "mean_over_positions", "high": 4.0, "pressure_bar": 70.0, "page": "5-19"},
        {"quantity": "charge_inlet_pressure", "form": "minimum", "low": 0.8, "page": "5-11", **WARM},
        {"quantity": "filter_differential", "form": "maximum", "high": 3.0, "page": "5-10", **WARM},
    ],
    "TX45": [
        {"quantity": "charge_neutral", "form": "band", "low": 18.5, "high": 21.8, "page": "22", **WARM},
        {"quantity": "motor_case_flow", "form": "three_classes", "low": 11.0, "high": 16.0, "pressure_bar": 200.0, "page": "24", **TIGHT},
        {"quantity": "neutral_creep", "form": "no_motion", "page": "26"},
        {"quantity": "filter_differential", "form": "maximum", "high": 2.2, "page": "27", **WARM},
    ],
    "LM38": [
        {"quantity": "charge_neutral", "form": "minimum", "low": 16.5, "page": "9", **WARM},
        {"quantity": "total_case_return", "form": "loaded_ratio", "share": 8.0, "page": "11"},
        {"quantity": "filter_differential", "form": "maximum", "high": 2.0, "page": "12", **WARM},
    ],
}
