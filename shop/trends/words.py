"""What the figures of a wear state mean, in a mechanic's words."""

from calcs.quantities import QUANTITIES
from fleet.models import WearGroup, WearState

BEGAN_WORDS = {
    "new": "new",
    "overhauled": "rebuilt",
    "repaired": "repaired",
    "first_seen": "first seen used",
    "new_gauge": "a gauge was put right",
}


def hours_words(hours: float | None) -> str:
    """Return hours rounded as far as they can be believed; none in sight says so."""
    if hours is None:
        return "not in sight"
    if hours < 10:
        return "now"
    step = 10 if hours < 300 else 50 if hours < 1000 else 100 if hours < 10_000 else 1000
    return f"{round(hours / step) * step:,.0f} h".replace(",", "\u202f")


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


def story_of(state: WearState) -> str:
    """Return the whole story of a state in a few sentences."""
    quantity = QUANTITIES[state.quantity]
    group = state.group
    ran = state.last_component_h - state.began_h
    words = [
        f"{quantity.label}{', ' + state.direction if state.direction else ''}: {state.level_ratio:.2f} x new after {ran:,.0f} h "
        f"since {BEGAN_WORDS[state.began]}, {state.readings} reading{'s' if state.readings != 1 else ''}."
    ]
    if group.units > 1 and group.share_not_wearing is not None:
        words.append(
            f"Of {group.units} such records of this drive model, {group.share_not_wearing:.0%} do not wear measurably.".replace("%", " %")
        )
    words.append(f"To the limit of {state.limit_ratio:.2f} x new ({state.limit_source}): {band_words(state)}.")
    words.append(f"{score_words(group).capitalize()}. Weight of its own record against the fleet: {(state.weight_own or 0) * 100:.0f} %.")
    return " ".join(words)


def next_that_decides(state: WearState) -> str:
    """Return what would change the conclusion."""
    if state.step_p is not None and state.step_p < 0.001:
        return "The newest reading stands far from what the others foretold: repeat this test today. One reading cannot tell a jump from a slip."
    if state.readings < 3:
        return f"{3 - state.readings} more reading{'s' if state.readings < 2 else ''} under like conditions would let the drive's own line be drawn."
    if state.state == "watch":
        return "One more reading at test temperature, with the same gauge, would settle whether it wears."
    if state.state == "wearing" and state.likely_h is not None and state.likely_h > 300:
        return f"A reading within about {hours_words(max(state.likely_h / 3, 50))} narrows the band most."
    return ""
