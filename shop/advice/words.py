"""The reasons of suggestions, in a mechanic's words."""

from calcs.quantities import QUANTITIES
from calcs.wear_limits import wears_down
from shop.trends.life_of_quantity import events_at_jump
from shop.trends.metals import NAMES
from shop.trends.words import band_words, events_words, jump_story, name_of


def sign_words(state) -> str:
    level = f"{state.level_ratio:.2f} x new" if state.level_ratio >= 1.03 else "still about as new"
    return f"{lowered(name_of(state))} {state.state} ({level})"


def lowered(words: str) -> str:
    return words[0].lower() + words[1:]


def band_of(state) -> str:
    return band_words(state)


def metals_of(metals) -> str:
    """Return the metals that rise, by name, with how far above the usual rate."""
    told = [f"{NAMES[state.metal].lower()} ({state.level_ratio:.1f} x the usual rate)" for state in metals]
    return f"{' and '.join([', '.join(told[:-1]), told[-1]] if len(told) > 1 else told)} {'rise' if len(told) > 1 else 'rises'}"


def jump_words(state, events) -> str:
    told = f"{jump_story(state)} {events_words(events_at_jump(state, events))}".strip()
    if state.quantity in ("pump_case_flow", "total_case_return") and state.jump_ratio > 4:
        return f"{told} First look how the drains are plumbed: so much at once is rarely wear."
    return f"{told} Wear does not jump: look for what was done, or broke, between those two readings."


def off_words(states) -> str:
    told = ", ".join(f"{name_of(state)} {state.last_ratio:.2f} x new" for state in states[:3])
    return (
        f"{told} on {states[0].last_tested_on:%-d %b %Y}: far from what the earlier readings foretold. One reading cannot tell a jump "
        "from a slip: repeat the test."
    )


def gauge_words(gauge, rows) -> str:
    """Return how far a gauge reads off, by quantity, against all others that read the same drives."""
    told = []
    for row in rows:
        is_high = (row.offset > 0) != wears_down(row.quantity)
        side = "high" if is_high else "low"
        told.append(
            f"{lowered(QUANTITIES[row.quantity].label)} {abs(row.offset):.0%} {side} over {row.readings} readings".replace("%", " %")
        )
    return f"{gauge.tag} stands apart from the other gauges on the same drives: {'; '.join(told)}. Have it checked before it is used again."


def shift_words(shift) -> str:
    whose = (
        f" Gauge {shift.instrument} took all of them."
        if shift.instrument
        else " Look for one cause: a gauge, a thermometer, the oil, a habit."
    )
    return (
        f"{QUANTITIES[shift.quantity].label} of {shift.units} drives shifted together about {shift.from_on:%-d %b %Y}: one common shift, "
        f"not {shift.units} worn drives.{whose}"
    )
