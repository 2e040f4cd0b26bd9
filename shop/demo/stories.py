"""The planted stories: what was put in, and on which machine, unit or gauge a user can find it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Story:
    code: str
    title: str
    machine: str
    unit: str
    find: str


STORIES = (
    Story(
        "wearing_out",
        "A drive wearing out",
        "M-00020",
        "D-00024",
        "Pump case drain climbs past its limit; stroked charge pressure sags a little with it; iron and copper rise in the oil.",
    ),
    Story(
        "wearing_slowly",
        "A drive on its way to the limit",
        "M-00029",
        "D-00033",
        "Pump and motor drains climb steadily and have not reached the limit yet: hours to the limit as a band.",
    ),
    Story(
        "bad_repair",
        "A step after a bad repair",
        "M-00003",
        "D-00003",
        "Relief cartridges were exchanged; motor case drain is much higher from the next test on. The order says released.",
    ),
    Story(
        "moved",
        "A unit moved between machines",
        "M-00013",
        "D-00029",
        "Came out of M-00025 into M-00013 in place of a failed unit; D-00045 went into M-00025 twelve days later. Component hours run on.",
    ),
    Story("meter", "A replaced hour meter", "M-00010", "D-00010", "The new meter began at 0.0; life hours run on over both segments."),
    Story(
        "mixed_oil",
        "Mixed oil",
        "M-00022",
        "D-00026",
        "Hydrol 46 was part changed and topped up with Allfield 10W-30; calcium and zinc rise in the samples; tests still say Hydrol 46.",
    ),
    Story(
        "gauge",
        "A gauge that reads 1.5 bar high",
        "",
        "",
        "G-07, dropped; every charge pressure read with it since stands 1.5 bar too high.",
    ),
    Story(
        "series_drain",
        "A drain plumbed in series",
        "M-00033",
        "D-00037",
        "Motor drain run through the pump case: the meter shows charge flow whatever the wear; the last two tests did not note it.",
    ),
    Story(
        "overdue_filter",
        "An overdue filter before harvest",
        "M-00006",
        "D-00006",
        "Charge filter left undone for want of the part; the season block begins in twelve days; the filter difference is up.",
    ),
    Story(
        "charge_pump",
        "A worn charge pump",
        "M-00035",
        "D-00039",
        "Charge pressure at low idle falls most, then at high idle and stroked; case drains stay as they were.",
    ),
    Story(
        "unknown_history",
        "A unit of unknown history",
        "M-00040",
        "D-00044",
        "Bought used, hours and fluid not known; no expected value before the first oil change of ours.",
    ),
    Story("healthy", "A healthy drive", "M-00001", "D-00001", "Every reading inside, flat over the hours."),
)
BY_CODE = {story.code: story for story in STORIES}

HIGH_GAUGE = "G-07"
GAUGE_DROPPED_AGO = 330  # days
GAUGE_ERROR_BAR = 1.5
BAD_REPAIR_AGO = 500
MOVE_AGO = 470
GAP_DAYS = 12
METER_CHANGED_AGO = 610
OIL_MIXED_AGO = 430
FIRST_CHANGE_AGO = 560
SEASON_IN_DAYS = 12
MOVED_FROM, MOVED_TO, LEFT_UNIT, SPARE_UNIT = "M-00025", "M-00013", "D-00013", "D-00045"


def machine_of(code: str) -> str:
    return BY_CODE[code].machine


def unit_of(code: str) -> str:
    return BY_CODE[code].unit
