"""Cautions that are printed and shown beside the steps that call for them. Signal words after ANSI Z535.6 and ISO 3864, from memory.

They are reminders, not instructions: local law, the machine maker's manual for that serial, and people trained for the work come first.
"""

from dataclasses import dataclass

DANGER, WARNING, CAUTION, NOTICE = "danger", "warning", "caution", "notice"
WORDS = (DANGER, WARNING, CAUTION, NOTICE)
DEFERS = "These reminders replace nothing: local law, the machine maker's manual for this serial, and qualified people come first."


@dataclass(frozen=True)
class Caution:
    code: str
    word: str
    title: str
    words: str
    source: str


ROWS = (
    (
        "C1", DANGER, "Oil through the skin",
        "A jet too fine to see can drive oil through skin and glove. Search for leaks with card or wood held well away, never with a hand. Any "
        "suspicion of oil under the skin is a surgical emergency now, painful or not: go to hospital, tell them the "
        "fluid, the pressure and the time.",
        "common practice, no source; entry from about 7 bar reported in medical papers, from memory",
    ),
    (
        "C2", DANGER, "Pressure that stays behind",
        "Before a fitting is loosened: engine off, key out, implements on the ground, every control moved through, then wait and see the gauge "
        "at zero. Accumulators are drained and proved empty on a gauge by trained people; their gas side may still be charged.",
        "ISO 4413, from memory",
    ),
    (
        "C3", WARNING, "Hot oil and hot parts",
        "Above about 50 °C oil and metal burn. Drain slowly, arms covered, face shield on.",
        "common practice, no source",
    ),
    (
        "C4", CAUTION, "Spilt and used oil",
        "Tray under, spill kit beside. Used oil goes into sound, marked, closed drums, never mixed with other waste; filters drip off hot and are kept "
        "apart; litres are written down. Local rules on waste hold.",
        "40 CFR 279.22 (United States), from memory; elsewhere local rules",
    ),
    (
        "C5", DANGER, "The machine may start to move",
        "Wheels off the ground on rated stands, not on jacks; other wheels chocked, brake on, steering blocked, the place taped off. Only the person "
        "named for it sits at the controls.",
        "common practice, no source",
    ),
    (
        "C6", DANGER, "No braking left",
        "With a bypass open or a drive that has failed nothing may hold the machine back. Never open a bypass on a slope. Agree on the way out first.",
        "common practice, no source",
    ),
    (
        "C7", WARNING, "Hose or fitting may burst",
        "Gauge hoses and adapters are rated above the relief setting and tied against whipping. Read from behind a shield; hands and face away; one "
        "person alone decides when the engine runs.",
        "ISO 4413, from memory",
    ),
    (
        "C8", DANGER, "Pull and stall tests",
        "Nobody in front, behind, or in line with the strap. The anchor is proved, the word for stopping is agreed beforehand.",
        "common practice, no source",
    ),
    (
        "C9", WARNING, "Heavy units",
        "Look up the weight first: a pump of a large machine may weigh 40 to 200 kg. Rated hoist and sling or lift table; nobody under the load; the "
        "machine's own hydraulics are no hoist.",
        "weights from memory",
    ),
    (
        "C10", WARNING, "Turning shafts and fans",
        "Guards on, sleeves and hair close, hands out. No bridge stays in a seat or presence switch.",
        "common practice, no source",
    ),
    (
        "C11", WARNING, "Exhaust indoors",
        "An engine runs inside only with the exhaust led out or the doors open.",
        "common practice, no source",
    ),
    (
        "C12", WARNING, "Electrical and interlock work",
        "Every bridge is taken out again and the interlock tried. Battery off where the maker says so; electronic controls only by "
        "people qualified for them.",
        "common practice, no source",
    ),
    (
        "C13", DANGER, "Energy isolation",
        "Stop, isolate, lock or tag, wait until nothing moves, try the start. In the United States shops work under 29 CFR 1910.147, farms under "
        "29 CFR 1928.57; elsewhere the local rule. What must run to be tested runs only with the steps told beforehand.",
        "29 CFR 1910.147 and 1928.57 (United States), from memory",
    ),
    (
        "C14", NOTICE, "General rules for hydraulics",
        "Isolation of pressure, marking and protection of hoses follow ISO 4413 and the machine maker.",
        "ISO 4413, from memory",
    ),
    (
        "C15", CAUTION, "What to wear",
        "Eyes and face covered, oil-proof gloves (they stop oil on the skin, not a jet), safety shoes, ears protected. Nothing that sparks or glows "
        "near oil mist.",
        "common practice, no source",
    ),
    (
        "C16", WARNING, "Work in the field",
        "Soft ground, lines overhead, fire in crop and stubble, weather. Somebody knows where you are and when you will call back.",
        "common practice, no source",
    ),
    (
        "C17", WARNING, "Tools that release brakes",
        "Brake-release and override tools are taken out and counted before the machine is handed back.",
        "common practice, no source",
    ),
    (
        "C18", WARNING, "No reading is worth it",
        "Pressure, speed and time limits of the manual hold, also when the reading is not there yet.",
        "common practice, no source",
    ),
)  # fmt: skip
CAUTIONS = {row[0]: Caution(*row) for row in ROWS}


def cautions_of(codes) -> list[Caution]:
    """Return the cautions with these codes, the gravest first; codes that do not exist are refused, for a caution must not get lost."""
    missing = [code for code in codes if code not in CAUTIONS]
    if missing:
        raise ValueError(f"codes must be among {', '.join(CAUTIONS)}, got {', '.join(map(str, missing))}")
    return sorted({CAUTIONS[code] for code in codes}, key=lambda caution: (WORDS.index(caution.word), int(caution.code[1:])))
