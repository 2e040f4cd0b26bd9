"""When evidence has changed by enough to be told again: graver, clearly higher, much nearer, joined by a second sign, or new in time."""

GRAVITY = {"watch": 0, "wearing": 1, "jumped": 2}
HIGHER = 1.25  # the way from new has grown by a quarter, a shop setting
FAR_H = 2000.0  # a limit that came into sight within these hours is told, a shop setting
NEARER = 0.5  # half the hours to the limit are left, a shop setting


def has_changed(before: dict, now: dict) -> bool:
    """Say whether `now` tells enough that `before` did not."""
    tests = (_is_graver, _is_higher, _is_nearer, _is_joined, _is_of_another_time)
    return any(test(before, now) for test in tests)


def _is_graver(before: dict, now: dict) -> bool:
    return GRAVITY.get(now.get("word"), 0) > GRAVITY.get(before.get("word"), 0)


def _is_higher(before: dict, now: dict) -> bool:
    if before.get("quantity") != now.get("quantity"):
        return False  # levels of two quantities do not compare; a graver one is told by its word
    return now["level"] - 1 > max(HIGHER * (before["level"] - 1), before["level"] - 1 + 0.02)


def _is_nearer(before: dict, now: dict) -> bool:
    if now.get("likely_h") is None:
        return False
    if before.get("likely_h") is None:
        return now["likely_h"] < FAR_H
    return now["likely_h"] < NEARER * before["likely_h"] - 50


def _is_joined(before: dict, now: dict) -> bool:
    return bool(now.get("joint")) and not before.get("joint")


def _is_of_another_time(before: dict, now: dict) -> bool:
    return any(now.get(name) != before.get(name) for name in ("jump_on", "tested_on"))
