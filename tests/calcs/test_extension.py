"""Extensions: signed, limited, expiring, and forbidden where they would hurt."""

from datetime import date

import pytest

from calcs.extension import Extension, extension_factor, judge_extension

STEP = Extension(0.25, "M. Okafor", date(2026, 1, 5), date(2026, 6, 30))
GOOD = {"clean_samples": 2, "maker_permits": True, "restriction_low": True}


def test_an_extension_with_everything_in_order_is_allowed():
    assert judge_extension("fluid", STEP, **GOOD).allowed


def test_the_third_is_blocked_without_clean_samples():
    judgement = judge_extension("fluid", STEP, [STEP, STEP], **GOOD | {"clean_samples": 1})
    assert not judgement.allowed and judgement.reasons[0].startswith("extension 3 needs 2 clean samples")
    assert judge_extension("fluid", STEP, [STEP, STEP], **GOOD).allowed


@pytest.mark.parametrize("kind", ["hose", "brake", "interlock"])
def test_hoses_brakes_and_interlocks_are_never_extended(kind):
    assert judge_extension(kind, STEP, **GOOD).reasons == (f"a {kind} task is never extended",)


@pytest.mark.parametrize("against", ["breakin", "warranty_clause", "safety"])
def test_break_in_warranty_and_safety_forbid_it(against):
    assert not judge_extension("fluid", STEP, **GOOD, **{against: True}).allowed


def test_a_step_is_at_most_a_quarter():
    longer = Extension(0.26, "M. Okafor", date(2026, 1, 5), date(2026, 6, 30))
    assert not judge_extension("fluid", longer, **GOOD).allowed


def test_it_must_be_signed_and_must_end():
    unsigned = Extension(0.1, " ", date(2026, 1, 5), date(2026, 1, 5))
    assert judge_extension("fluid", unsigned, **GOOD).reasons == ("nobody signed", "it has no end after its signing")


@pytest.mark.parametrize(
    ("day", "factor"), [(date(2026, 1, 4), 1), (date(2026, 1, 5), 1.25), (date(2026, 6, 30), 1.25), (date(2026, 7, 1), 1)]
)
def test_it_holds_from_its_first_to_its_last_day(day, factor):
    assert extension_factor([STEP], day) == factor


def test_steps_multiply():
    assert extension_factor([STEP, STEP], date(2026, 2, 1)) == pytest.approx(1.5625)
