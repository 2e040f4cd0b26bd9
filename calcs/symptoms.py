"""What a customer complains of, what is looked at first, and how each cause shows itself: the tables of the diagnosis.

The odds are judgement of the trade, from memory: they order advice and give no verdict. A shop may change them.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Look:
    """One test or check; `minutes` is what it costs, `shows` what it can settle."""

    code: str
    label: str
    minutes: int
    shows: tuple[str, ...]


@dataclass(frozen=True)
class Cause:
    """One cause; `odds` how often it lies behind a complaint, `signs` how likely each sign is when it does."""

    code: str
    label: str
    odds: float
    signs: dict[str, float]


@dataclass(frozen=True)
class Symptom:
    """One complaint: cheap looks first, then tests, and the causes it points to."""

    code: str
    label: str
    first: tuple[str, ...]
    then: tuple[str, ...]
    causes: tuple[str, ...]


SIGNS: dict[str, str] = {  # sign -> how it is said of a drive that has it
    "level_low": "oil level is low",
    "air_in_oil": "oil foams or is milky",
    "wrong_oil": "oil is thinner than the drive asks for",
    "oil_very_hot": "oil runs hotter than the drive allows",
    "linkage_off": "linkage does not give full travel both ways",
    "bypass_open": "bypass is not fully shut",
    "coupling_slips": "input coupling or a spline does not turn the shaft",
    "brake_drags": "parking brake does not release",
    "cooler_blocked": "cooler is blocked",
    "inlet_starved": "charge inlet pressure is too low",
    "charge_low": "neutral charge is low",
    "charge_low_idle": "neutral charge is low at low idle",
    "charge_flutters": "charge needle flutters",
    "recovers_with_aux_off": "charge comes back with the auxiliaries shut off",
    "sag_forward": "stroked charge falls forward",
    "sag_reverse": "stroked charge falls in reverse",
    "relief_low_forward": "main relief is low forward",
    "relief_low_reverse": "main relief is low in reverse",
    "fault_moves_with_part": "fault moved with the relief valve when the two were swapped",
    "pump_drain_high": "pump case drain flow is high",
    "motor_drain_high": "motor case drain flow is high",
    "case_pressure_high": "case pressure is high",
    "slow_hot": "top speed is low with hot oil",
    "slow_cold": "top speed is low with cold oil as well",
    "flushing_absent": "motor drain does not change when the drive is stroked",
    "flushing_one_side": "flushing comes in one direction only",
    "creeps_from_both": "wheels turn in neutral after an approach from either side",
    "creeps_from_one": "wheels turn in neutral after an approach from one side",
    "stroke_slow": "pump strokes slowly",
    "engine_droops": "engine speed falls under load",
    "metal_found": "metal in the filter or on the magnet",
    "gauge_disagrees": "gauge does not agree with the sensor",
    "drain_hose_kinked": "drain hose, cooler or return is restricted",
    "tyres_differ": "tyres or brakes differ from side to side",
}

LOOKS: dict[str, Look] = {
    look.code: look
    for look in (
        Look("engine", "Engine speed under load", 5, ("engine_droops",)),
        Look("oil", "Oil level, look and grade against the fill record", 5, ("level_low", "air_in_oil", "wrong_oil", "oil_very_hot")),
        Look("linkage", "Linkage, bypass, coupling and brake release", 10, ("linkage_off", "bypass_open", "coupling_slips", "brake_drags")),
        Look("tyres", "Tyres and brakes side to side", 10, ("tyres_differ",)),
        Look("cooler", "Cooler and fan, air side", 10, ("cooler_blocked",)),
        Look("drains", "Drain hoses and return", 10, ("drain_hose_kinked",)),
        Look("wiring", "Sensor and wiring against a gauge", 20, ("gauge_disagrees",)),
        Look("filter", "Filter cut open, magnet, sample", 25, ("metal_found",)),
        Look("T03", "Charge pressure in neutral", 15, ("charge_low", "charge_low_idle", "charge_flutters")),
        Look("aux", "Charge with auxiliaries shut off one by one", 15, ("recovers_with_aux_off",)),
        Look("T04", "Charge inlet vacuum", 15, ("inlet_starved",)),
        Look("T05", "Charge pressure stroked, both directions", 15, ("sag_forward", "sag_reverse")),
        Look("T06", "Loop flushing", 30, ("flushing_absent", "flushing_one_side")),
        Look("T07", "Main relief, both directions", 25, ("relief_low_forward", "relief_low_reverse")),
        Look("swap", "Relief valves swapped side to side, if they are the same part", 40, ("fault_moves_with_part",)),
        Look("T08", "Case drain flow of pump and motor apart", 45, ("pump_drain_high", "motor_drain_high", "case_pressure_high")),
        Look("T09", "Top speed, cold and hot", 20, ("slow_hot", "slow_cold")),
        Look("T11", "Creep in neutral from both sides", 20, ("creeps_from_both", "creeps_from_one")),
        Look("T13", "Stroke time", 10, ("stroke_slow",)),
    )
}

ELSEWHERE = 0.08  # how likely a sign is without a cause that brings it
ELSEWHERE_OF = {  # measured, and beyond its limit beyond doubt: seldom so without a cause that brings it; judgement, from memory
    "pump_drain_high": 0.005,
    "motor_drain_high": 0.005,
    "relief_low_forward": 0.01,
    "relief_low_reverse": 0.01,
    "charge_low": 0.02,
    "charge_low_idle": 0.02,
    "case_pressure_high": 0.02,
    "inlet_starved": 0.02,
    "metal_found": 0.02,
}
TOGETHER = (
    ("sag_forward", "sag_reverse"),
    ("slow_hot", "slow_cold"),
    ("charge_low", "charge_low_idle"),
)  # signs of one thing: two of them tell no more than one

CAUSES: dict[str, Cause] = {
    cause.code: cause
    for cause in (
        Cause(
            "low_oil",
            "too little oil, or oil with air in it",
            1.2,
            {"level_low": 0.9, "air_in_oil": 0.6, "charge_flutters": 0.6, "charge_low": 0.4, "charge_low_idle": 0.3},
        ),
        Cause(
            "inlet",
            "restriction or air leak on the charge inlet",
            1.2,
            {
                "inlet_starved": 0.9,
                "charge_flutters": 0.6,
                "charge_low": 0.7,
                "charge_low_idle": 0.4,
                "air_in_oil": 0.3,
                "sag_forward": 0.4,
                "sag_reverse": 0.4,
            },
        ),
        Cause(
            "charge_pump",
            "worn charge pump",
            0.7,
            {"charge_low": 0.6, "charge_low_idle": 0.9, "sag_forward": 0.5, "sag_reverse": 0.5, "slow_hot": 0.3, "stroke_slow": 0.4},
        ),
        Cause(
            "charge_relief",
            "charge relief weak, stuck or set low",
            0.7,
            {"charge_low": 0.9, "charge_low_idle": 0.6, "sag_forward": 0.4, "sag_reverse": 0.4, "stroke_slow": 0.3},
        ),
        Cause(
            "auxiliary",
            "an auxiliary user or the brake circuit takes charge oil",
            0.6,
            {"recovers_with_aux_off": 0.95, "charge_low": 0.8, "charge_low_idle": 0.7},
        ),
        Cause(
            "pump",
            "worn pump",
            1.0,
            {
                "pump_drain_high": 0.9,
                "sag_forward": 0.8,
                "sag_reverse": 0.8,
                "slow_hot": 0.8,
                "slow_cold": 0.25,
                "case_pressure_high": 0.3,
                "oil_very_hot": 0.4,
                "metal_found": 0.3,
            },
        ),
        Cause(
            "motor",
            "worn motor",
            1.0,
            {
                "motor_drain_high": 0.9,
                "sag_forward": 0.8,
                "sag_reverse": 0.8,
                "slow_hot": 0.8,
                "slow_cold": 0.25,
                "case_pressure_high": 0.3,
                "oil_very_hot": 0.4,
                "metal_found": 0.3,
            },
        ),
        Cause(
            "side_forward",
            "relief or charge check of the forward side",
            0.8,
            {"relief_low_forward": 0.9, "sag_forward": 0.8, "fault_moves_with_part": 0.8, "slow_hot": 0.3},
        ),
        Cause(
            "side_reverse",
            "relief or charge check of the reverse side",
            0.8,
            {"relief_low_reverse": 0.9, "sag_reverse": 0.8, "fault_moves_with_part": 0.8, "slow_hot": 0.3},
        ),
        Cause(
            "limiter", "pressure limiter set or stuck low", 0.5, {"relief_low_forward": 0.9, "relief_low_reverse": 0.9, "slow_cold": 0.3}
        ),
        Cause(
            "linkage",
            "control linkage or electric command",
            1.0,
            {"linkage_off": 0.9, "slow_cold": 0.7, "slow_hot": 0.7, "creeps_from_one": 0.6},
        ),
        Cause("servo", "servo or control valve", 0.7, {"stroke_slow": 0.8, "slow_cold": 0.5, "slow_hot": 0.5, "creeps_from_both": 0.4}),
        Cause("neutral", "neutral setting of servo or plate", 0.8, {"creeps_from_both": 0.9}),
        Cause("bypass", "bypass valve not shut", 0.5, {"bypass_open": 0.95, "slow_cold": 0.8, "slow_hot": 0.8}),
        Cause("shaft", "input coupling, shaft or motor spline", 0.4, {"coupling_slips": 0.95, "metal_found": 0.3}),
        Cause("brake", "brake does not release", 0.5, {"brake_drags": 0.95, "slow_cold": 0.6, "slow_hot": 0.6, "oil_very_hot": 0.4}),
        Cause(
            "oil_grade",
            "oil too thin or of the wrong grade",
            0.8,
            {"wrong_oil": 0.9, "slow_hot": 0.7, "sag_forward": 0.5, "sag_reverse": 0.5, "oil_very_hot": 0.3},
        ),
        Cause("cooler", "cooler blocked", 1.0, {"cooler_blocked": 0.95, "oil_very_hot": 0.9, "slow_hot": 0.5}),
        Cause("flushing", "flushing valve stuck or plugged", 0.5, {"flushing_absent": 0.85, "flushing_one_side": 0.5, "oil_very_hot": 0.7}),
        Cause("drain", "restricted drain line", 0.6, {"drain_hose_kinked": 0.9, "case_pressure_high": 0.9}),
        Cause("engine", "engine short of power or its governor", 0.9, {"engine_droops": 0.95}),
        Cause("tyres", "tyres or brakes, not the drive", 0.7, {"tyres_differ": 0.95}),
        Cause("sensor", "sensor or wiring", 0.9, {"gauge_disagrees": 0.95}),
        Cause(
            "breaking_up",
            "a unit breaking up",
            0.3,
            {"metal_found": 0.97, "pump_drain_high": 0.5, "motor_drain_high": 0.5, "charge_low": 0.3},
        ),
    )
}

LEAKS = ("pump", "motor", "oil_grade", "charge_pump", "flushing")
CHARGE_SIDE = ("low_oil", "inlet", "charge_pump", "charge_relief", "auxiliary")

SYMPTOMS: dict[str, Symptom] = {
    symptom.code: symptom
    for symptom in (
        Symptom(
            "no_drive",
            "No drive either way",
            ("oil", "linkage"),
            ("T03", "T04"),
            (*CHARGE_SIDE, "bypass", "shaft", "brake", "linkage", "servo", "breaking_up"),
        ),
        Symptom(
            "one_way",
            "Drives one way only, or weak one way",
            ("linkage",),
            ("T05", "T07", "swap"),
            ("side_forward", "side_reverse", "linkage", "servo"),
        ),
        Symptom(
            "slow_hot",
            "Slow when hot, good when cold",
            ("oil", "cooler"),
            ("T05", "T08", "T09"),
            (*LEAKS, "cooler", "side_forward", "side_reverse"),
        ),
        Symptom(
            "slow",
            "Slow, cold and hot",
            ("engine", "linkage", "tyres"),
            ("T09", "T07"),
            ("linkage", "servo", "limiter", "bypass", "brake", "engine", "pump", "motor", "tyres"),
        ),
        Symptom("jerky", "Jerky", ("oil", "linkage"), ("T03", "T04", "T11"), ("low_oil", "inlet", "servo", "linkage", "neutral")),
        Symptom(
            "noise", "Noise, cavitation", ("oil",), ("T04", "T03"), ("low_oil", "inlet", "charge_pump", "charge_relief", "breaking_up")
        ),
        Symptom(
            "overheats",
            "Overheats",
            ("cooler", "oil"),
            ("T06", "T07", "T08"),
            ("cooler", "flushing", "pump", "motor", "limiter", "brake", "oil_grade"),
        ),
        Symptom("creeps", "Creeps in neutral", ("linkage",), ("T11",), ("neutral", "linkage", "servo")),
        Symptom(
            "loses_charge",
            "Loses charge pressure",
            ("aux", "oil"),
            ("T03", "T04", "T05"),
            (*CHARGE_SIDE, "pump", "motor", "side_forward", "side_reverse"),
        ),
        Symptom(
            "pulls_aside",
            "Pulls to one side",
            ("tyres",),
            ("T09", "T08"),
            ("tyres", "pump", "motor", "linkage", "side_forward", "side_reverse"),
        ),
        Symptom(
            "dies_loaded",
            "Dies under load only",
            ("engine",),
            ("T07",),
            ("engine", "limiter", "side_forward", "side_reverse", "pump", "motor"),
        ),
        Symptom(
            "case_pressure", "Case pressure high, shaft seal blown", ("drains", "cooler"), ("T08",), ("drain", "cooler", "pump", "motor")
        ),
        Symptom("metal", "Metal in filter or on magnet", ("filter",), (), ("breaking_up", "shaft")),
        Symptom("fault_code", "Fault code shown", ("wiring",), ("T03", "T07"), ("sensor", *CHARGE_SIDE, "limiter")),
        Symptom(
            "none",
            "No complaint, found in a routine test",
            ("oil",),
            ("T03", "T05", "T07", "T08", "T09"),
            (
                *CHARGE_SIDE,
                "pump",
                "motor",
                "side_forward",
                "side_reverse",
                "limiter",
                "oil_grade",
                "cooler",
                "flushing",
                "drain",
                "linkage",
                "neutral",
            ),
        ),
    )
}
