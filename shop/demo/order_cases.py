"""What the demo's work orders are about."""

from dataclasses import dataclass

from shop.demo.stories import BAD_REPAIR_AGO, MOVE_AGO


@dataclass(frozen=True)
class Case:
    """One order: how far it got, on which machine, taken in how many days ago, and its lines."""

    state: str
    machine: str
    ago: int
    complaint: str
    symptom: str = ""
    cause: str = ""
    correction: str = ""
    lines: tuple[tuple, ...] = ()  # kind, words or task code or part number, urgency
    labour_h: tuple[tuple, ...] = ()  # hand, kind, hours
    finding: str = ""
    caller: str = ""
    is_warranty: bool = False
    reason: str = ""  # why cancelled


FAILED = "The pump screamed and it stopped in the row. No drive either way."
CASES = (
    Case(
        "collected",
        "M-00003",
        BAD_REPAIR_AGO + 2,
        "Slow up the hill, worse when hot.",
        "slow_hot",
        "Both relief cartridges leaked past their seats (main relief 6 % low).",
        "Relief cartridges exchanged both ways, set and sealed.",
        (("part", "RC-VK110", "now"), ("labour", "Cartridges out and in", "now")),
        (("emre", "repair", 3.5), ("kaisa", "test", 1.0)),
    ),
    Case(
        "collected",
        "M-00013",
        MOVE_AGO + 4,
        FAILED,
        "no_drive",
        "Block face broken up; debris through the loop.",
        "Unit D-00029 fitted from M-00025, loop flushed, cooler changed, all filters new.",
        (
            ("task", "CHARGE-FILTER", "now"),
            ("labour", "Unit out and in, loop flushed both ways", "now"),
            ("sublet", "Cooler cleaned out elsewhere, rejected", "now"),
        ),
        (("emre", "repair", 9.0), ("tilde", "test", 2.0)),
    ),
    Case(
        "collected",
        "M-00025",
        MOVE_AGO - 10,
        "Give us a unit back, please.",
        "",
        "Unit was lent to the windrower.",
        "Exchange unit D-00045 fitted.",
        (("part", "XU-HD75", "now"), ("labour", "Exchange unit in", "now")),
        (("jorunn", "repair", 5.0),),
    ),
    Case(
        "collected",
        "M-00007",
        642,
        "Tired on the headland, engine lugs.",
        "slow_hot",
        "Block kits and plates worn evenly.",
        "Rebuilt in the shop.",
        (("labour", "Rebuild on the bench", "now"), ("part", "SK-VK110", "now")),
        (("kaisa", "repair", 14.0), ("kaisa", "test", 2.5)),
    ),
    Case(
        "collected",
        "M-00027",
        382,
        "Oil under the pump after a night's rest.",
        "leak",
        "Shaft seal hard; block kits worn.",
        "Rebuilt in the shop.",
        (("labour", "Rebuild on the bench", "now"), ("part", "SK-HD75", "now")),
        (("emre", "repair", 12.0),),
    ),
    Case(
        "collected",
        "M-00019",
        260,
        "Jerky at creep speed.",
        "jerky",
        "Suction hose drew air at the clamp.",
        "Clamp and hose end renewed, bled.",
        (("labour", "Suction hose renewed", "now"),),
        (("tilde", "diagnose", 1.0), ("tilde", "repair", 1.5), ("tilde", "travel", 1.2)),
    ),
    Case(
        "collected",
        "M-00019",
        212,
        "Jerky again, same as before.",
        "jerky",
        "Second clamp on the tank side was loose as well.",
        "Clamp renewed, no charge.",
        (("labour", "Clamp renewed", "now"),),
        (("tilde", "rework", 1.0), ("tilde", "travel", 1.2)),
    ),
    Case(
        "collected",
        "M-00031",
        150,
        "Creeps forward in neutral.",
        "creep",
        "Neutral setting off after cable change.",
        "Neutral set both ways, jumper out.",
        (("task", "LINKAGE", "now"),),
        (("jorunn", "repair", 1.5),),
    ),
    Case(
        "released",
        "M-00005",
        46,
        "Runs hot on the road.",
        "hot",
        "Cooler packed with chaff.",
        "Cooler blown out, fan belt set.",
        (("task", "COOLER", "now"),),
        (("jorunn", "repair", 1.0),),
    ),
    Case(
        "released",
        "M-00016",
        30,
        "Yearly test day.",
        "",
        "No fault found, yearly tests wanted.",
        "All tests done, sheet attached.",
        (("task", "PRESSURE-TEST", "now"), ("task", "PARK-BRAKE", "now")),
        (("tilde", "test", 3.0),),
    ),
    Case("cancelled", "M-00034", 95, "Whines when cold.", "noise", reason="Gone after the engine oil change, says the customer"),
    Case(
        "taken_in",
        "M-00020",
        2,
        "Does not pull as it did; the field behind the church takes a gear less.",
        "slow_hot",
        caller="Foreman, from the cab",
        finding="Pump case drain above its limit on the last two tests",
    ),
    Case(
        "taken_in",
        "M-00006",
        3,
        "Filter lamp is on, also when warm.",
        "",
        lines=(("task", "CHARGE-FILTER", "now"),),
        finding="Charge filter overdue, difference high on warm oil",
    ),
    Case(
        "diagnosing",
        "M-00035",
        6,
        "Loader is lame at idle, brake lets go late.",
        "low_charge",
        lines=(("labour", "Find where charge pressure goes", "now"),),
        labour_h=(("kaisa", "diagnose", 2.0),),
        finding="Charge pressure at low idle far below its expected value",
    ),
    Case(
        "diagnosing",
        "M-00033",
        9,
        "Check the drains, readings look odd.",
        "",
        lines=(("task", "PRESSURE-TEST", "now"),),
        finding="Pump case drain equals the whole charge flow: how is it plumbed?",
    ),
    Case(
        "waiting_approval",
        "M-00003",
        11,
        "Motor side gets hot since last year's repair.",
        "hot",
        lines=(("labour", "Motor out, reseal", "now"), ("part", "SK-VK110", "now"), ("task", "FLUID", "before_season")),
        finding="Motor case drain twice the expected value since the relief repair",
    ),
    Case(
        "waiting_approval",
        "M-00040",
        16,
        "Bought used, what is it worth?",
        "",
        lines=(("labour", "Full test and opening the pump end", "can_wait"),),
    ),
    Case("waiting_parts", "M-00011", 20, "Return filter at its limit.", "", lines=(("task", "RETURN-FILTER", "now"),)),
    Case(
        "waiting_parts",
        "M-00022",
        13,
        "What oil is in there?",
        "oil_report",
        lines=(("task", "FLUID", "now"), ("task", "SAMPLE", "now")),
        finding="Calcium and zinc of a tractor oil in a system of Hydrol 46",
    ),
    Case(
        "in_work",
        "M-00029",
        8,
        "Winter check before the ploughing contract.",
        "",
        lines=(("task", "PRESSURE-TEST", "now"), ("task", "HOSE-CHECK", "now")),
        labour_h=(("emre", "test", 1.5),),
    ),
    Case(
        "in_work",
        "M-00018",
        5,
        "Pulls to the left when hot.",
        "slow_hot",
        lines=(("labour", "Compare both loops hot", "now"),),
        labour_h=(("tilde", "diagnose", 2.0),),
        is_warranty=True,
    ),
    Case(
        "final_test",
        "M-00036",
        12,
        "Hoses are past their age.",
        "",
        "Hoses older than six years.",
        "Hose set renewed.",
        (("task", "HOSES", "now"),),
        (("jorunn", "repair", 6.0),),
    ),
)
