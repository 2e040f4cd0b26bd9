"""What the figures of a wear state mean, in a mechanic's words."""

from calcs.quantities import QUANTITIES
from calcs.thousands import grouped
from fleet.models import WearGroup, WearState

BEGAN_WORDS = {
    "new": "new",
    "overhauled": "rebuilt",
    "repaired": "repaired",
    "first_seen": "first seen used",
    "new_gauge": "a gauge was put right",
}
NEAR_H = 300.0  # a limit so near is not waited for, a shop setting


def hours_words(hours: float | None) -> str:
    """Return hours rounded as far as they can be believed; none in sight says so."""
    if hours is None:
        return "not in sight"
    if hours < 10:
        return "now"
    step = 10 if hours < 300 else 50 if hours < 1000 else 100 if hours < 10_000 else 1000
    return f"{grouped(round(hours / step) * step, 0)} h"


def band_words(state: WearState) -> str:
    """Return the hours to the limit as a band, never as one figure alone."""
    if not state.has_basis:
        return "no basis for a forecast"
    if state.likely_h is None:
        return "no limit in sight" if state.low_h is None else f"not before about {hours_words(state.low_h)}"
    if state.low_h < 10 and state.high_h is not None and state.high_h < 10:
        return "at or past its limit"
    if state.high_h is None:
        return f"{hours_words(state.likely_h)}, hardly before {hours_words(state.low_h)}, perhaps never"
    return f"{hours_words(state.likely_h)}, eight in ten between {hours_words(state.low_h)} and {hours_words(state.high_h)}"


def score_words(group: WearGroup) -> str:
    """Return how such forecasts have done so far on this shop's own readings."""
    if not group.forecasts_tried:
        return "no forecast could be tried against a later reading yet"
    return f"our last {group.forecasts_tried} such forecasts caught {group.forecasts_caught}"


def name_of(state: WearState) -> str:
    return f"{QUANTITIES[state.quantity].label}{', ' + state.direction if state.direction else ''}"


def whole_hours(hours: float) -> str:
    return grouped(hours, 0)


def jump_story(state: WearState) -> str:
    """Return where and when a record jumped, in a sentence."""
    way = "jumped" if state.jump_ratio > 1 else "fell at once"
    between = f"between {whole_hours(state.jump_from_h)} and {whole_hours(state.jump_to_h)} h"
    return f"{name_of(state)} {way} to {state.jump_ratio:.2f} times what it was {between}, first seen on {state.jump_on:%-d %b %Y}."


def events_words(events) -> str:
    """Return what befell the unit at a jump, in a sentence; nothing where nothing is on record."""
    told = [
        f"{event.get_kind_display().lower()} on {event.happened_on:%-d %b %Y}{f' ({event.note})' if event.note else ''}" for event in events
    ]
    return f"Between those two readings it was {', '.join(told)}." if told else ""


def steps_of(state: WearState) -> list[str]:
    """Return what stands apart from steady wear in this state: a jump, a shift of many drives, a reading that is off."""
    told = [jump_story(state)] if state.has_jumped else []
    if state.has_jumped and state.jump_ratio < 1:
        told.append("Was something repaired then? Record it, and the wear starts anew from there.")
    if state.shift:
        told.append(
            f"On {state.shift.from_on:%-d %b %Y} or soon after, {state.shift.units} drives shifted together: one common shift, not wear."
        )
    return told


def story_of(state: WearState) -> str:
    """Return the whole story of a state in a few sentences."""
    group = state.group
    since = "the jump" if state.has_jumped else BEGAN_WORDS[state.began]
    ran = state.last_component_h - (state.jump_to_h if state.has_jumped else state.began_h)
    words = [
        *steps_of(state),
        f"{name_of(state)}: {state.level_ratio:.2f} x new after {whole_hours(ran)} h since {since}, {counted(state)}.",
    ]
    if group.units > 1 and group.share_not_wearing is not None:
        idle = f"{group.share_not_wearing * 100:.0f} %"
        words.append(f"Of {group.units} such records of this drive model, {idle} do not wear measurably.")
    words.append(f"To the limit of {state.limit_ratio:.2f} x new ({state.limit_source}): {band_words(state)}.")
    words.append(f"{score_words(group).capitalize()}. Weight of its own record against the fleet: {(state.weight_own or 0) * 100:.0f} %.")
    return " ".join(words)


def counted(state: WearState) -> str:
    return f"{state.readings} reading{'s' if state.readings != 1 else ''}"


def next_that_decides(state: WearState) -> str:
    """Return what would change the conclusion."""
    if state.asks_for_repeat:
        return "The newest reading stands far from what the others foretold: repeat this test today. One reading cannot tell a jump from a slip."
    if state.has_jumped and state.jump_ratio > 1:
        return (
            "What was done or what broke between those two readings. Put right and recorded as a repair, the wear starts anew from there."
        )
    if state.readings < 3:
        return f"{3 - state.readings} more reading{'s' if state.readings < 2 else ''} under like conditions would let the drive's own line be drawn."
    if state.state == "watch":
        return "One more reading at test temperature, with the same gauge, would settle whether it wears."
    if state.state == "wearing" and state.likely_h is not None and state.likely_h <= NEAR_H:
        return (
            "Hardly anything read now puts the limit far off. The same test again, with another gauge, would confirm it before the repair."
        )
    if state.state == "wearing" and state.likely_h is not None:
        return f"A reading within about {hours_words(max(state.likely_h / 3, 50))} narrows the band most."
    return ""
