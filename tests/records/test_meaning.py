"""What a figure, a date, a sum and a blank mean, and that they go on meaning it."""

import copy
import random
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from zoneinfo import ZoneInfo

import pytest
from django import forms
from django.test import override_settings
from django.utils import timezone

from calcs.figures import NumberRefused, read_number
from fleet.assess import assess_drive_test
from fleet.models import DriveTest, HourReading, Reading
from shop.exchange.cells import plain_number
from shop.forms_base import take_figures_by_one_rule
from shop.lists import FilterForm
from shop.measures import MeasureField
from shop.models import OrderLine, WorkOrder
from shop.money import MoneyField
from shop.workorders.totals import line_cents, order_cents, spoken_money
from tests.records.on_disk import HOUSE

NUMBERS = {  # as typed: as meant, or None where a person must be asked or told
    "1234.5": 1234.5, "1234,5": 1234.5, "1 234.5": 1234.5, "1 234,5": 1234.5, "1,234.5": 1234.5, "1.234,5": 1234.5, "1'234.5": 1234.5, "1’234,5": 1234.5,
    "1\u00a0234.5": 1234.5, "1\u202f234,5": 1234.5, "1,234": None, "1.234": None, "12,345": None, "12.345": None, "123.456": None, "-1,234": None,
    "1,234,567": 1234567, "1.234.567": 1234567, "1 234 567": 1234567, "1,234,567.8": 1234567.8, "1.234.567,8": 1234567.8, "0": 0, "0.0": 0, "0,5": 0.5,
    ".5": 0.5, ",5": 0.5, "5.": 5, "00123": 123, "-5.2": -5.2, "+5,2": 5.2, "\u22125,2": -5.2, "20,60": 20.6, "20.60": 20.6, "0.125": 0.125, "0,125": 0.125,
    "1e3": 1000, "1.5E2": 150, "2,5e1": 25, "NaN": None, "nan": None, "inf": None, "-Infinity": None, "1e999": None, "1_000": None, "--": None, "-": None,
    "": None, " ": None, "n/a": None, "12 bar": None, "1.2.3": None, "1,2,3": None, "1,23,456": None, "1 23": None, "12..5": None, "0x10": None,
    "１２３": None, "1²": None, "١٢": None, "=1+2": None, "1\u200b2": None, "1\n2": None, "½": None, "five": None, "5%": None,
}  # fmt: skip


def as_form_reads(text: str) -> float | None:
    try:
        measure = MeasureField("pressure", required=True).clean([text, "bar"])
    except forms.ValidationError as refusal:
        assert "".join(refusal.messages).strip(), "a refusal says why"
        return None
    return measure and measure.value


def as_file_reads(text: str, decimal: str | None) -> float | None:
    return as_form_reads(plain_number(text, decimal))


@pytest.mark.parametrize("text", NUMBERS)
def test_a_number_means_the_same_whichever_way_it_comes_in(text):
    assert as_form_reads(text) == as_file_reads(text, None) == (None if NUMBERS[text] is None else pytest.approx(NUMBERS[text], rel=1e-12))


def test_the_table_of_numbers_is_long_enough():
    assert len(NUMBERS) >= 60


@pytest.mark.parametrize(
    ("text", "decimal", "number"), [("1,234", ",", 1.234), ("1,234", ".", 1234), ("1.234", ".", 1.234), ("1.234", ",", 1234)]
)
def test_a_decimal_sign_stated_for_a_file_settles_what_would_be_asked_about(text, decimal, number):
    assert as_file_reads(text, decimal) == number == read_number(text, decimal)


def test_a_stated_sign_never_lets_a_figure_against_it_through():
    with pytest.raises(NumberRefused):
        read_number("1.234,5", ".")


def figure_fields():
    """Every field of every form of the shop that takes a bare figure, by form and name."""
    import shop.urls  # noqa: F401  loads every form
    from shop.forms_base import ActForm

    waiting = [ActForm]
    while waiting:
        form = waiting.pop()
        waiting += form.__subclasses__()
        for name, field in form.base_fields.items() if form.__module__.startswith("shop.") else ():
            if isinstance(field, (forms.IntegerField, MoneyField)):
                yield form, name, copy.deepcopy(field)


def test_counts_and_sums_of_money_on_every_form_are_read_by_the_same_rule():
    wrong, tried = [], 0
    for form, name, field in figure_fields():
        take_figures_by_one_rule(field)
        tried += 1
        for text in ("1_000", "1,234", "1.234", "１２", "NaN", "1e999", "0x10", "--", "1 2"):
            try:
                wrong.append(f"{form.__name__}.{name}: {text} read as {field.clean(text)}")
            except forms.ValidationError as refusal:
                assert "".join(refusal.messages).strip()
    assert wrong == []
    assert tried > 50


def test_a_sum_of_money_may_be_grouped_and_has_two_places_at_most():
    read = MoneyField().clean
    assert [read(text) for text in ("12", "12,5", "1 234.50", "1.234,50", "1,234.50", "1'234.5")] == [
        1200,
        1250,
        123450,
        123450,
        123450,
        123450,
    ]
    for text in ("-1", "0.001", "1_000", "12 000 000 000 000"):
        with pytest.raises(forms.ValidationError):
            read(text)


ZONES = ("America/Chicago", "Europe/Berlin", "Australia/Lord_Howe", "UTC")
INSTANTS = (
    datetime(2024, 2, 29, 12, tzinfo=UTC), datetime(2025, 3, 9, 8, 30, tzinfo=UTC), datetime(2025, 3, 30, 1, 30, tzinfo=UTC),
    datetime(2025, 10, 26, 0, 30, tzinfo=UTC), datetime(2025, 11, 2, 6, 30, tzinfo=UTC), datetime(2026, 12, 31, 23, 59, tzinfo=UTC),
    datetime(2028, 2, 29, 23, 59, tzinfo=UTC), datetime(2100, 2, 28, 23, 59, tzinfo=UTC),
)  # fmt: skip


@pytest.mark.parametrize("zone", ZONES)
def test_pages_stand_at_odd_instants_in_odd_zones(zone, floor, as_technician, technician, monkeypatch):
    wrong = []
    with override_settings(TIME_ZONE=zone):
        for instant in INSTANTS:
            monkeypatch.setattr(timezone, "now", lambda instant=instant: instant)
            as_technician.force_login(technician)
            for address in ("/", "/due/", f"/machines/{floor.machine.pk}/", f"/machines/{floor.machine.pk}/visit/", "/orders/"):
                status = as_technician.get(address).status_code
                wrong += [] if status == 200 else [f"{instant} {address}: {status}"]
    assert wrong == []


@pytest.mark.parametrize("zone", ZONES)
def test_half_past_eleven_at_night_keeps_its_day_on_the_page(zone, floor, as_technician):
    with override_settings(TIME_ZONE=zone):
        sent = {"read_at": "2026-03-14T23:30", "meter_h": "1215.5"}
        assert as_technician.post(f"/machines/{floor.machine.pk}/hours/", sent).status_code == 302
        reading = HourReading.objects.get(meter_h=Decimal("1215.5"))
        assert reading.read_at == datetime(2026, 3, 14, 23, 30, tzinfo=ZoneInfo(zone)).astimezone(UTC)
        page = as_technician.get(f"/machines/{floor.machine.pk}/").content.decode()
        assert "14 Mar 2026" in page and "15 Mar 2026" not in page and "13 Mar 2026" not in page


@pytest.mark.parametrize(
    ("zone", "typed"),
    [
        ("America/Chicago", "2026-03-08T02:30"), ("America/Chicago", "2025-11-02T01:30"), ("Europe/Berlin", "2026-03-29T02:30"),
        ("Europe/Berlin", "2025-10-26T02:30"), ("UTC", "2025-02-29T10:00"), ("UTC", "2026-13-01T10:00"), ("UTC", "2026-04-31T10:00"), ("UTC", "tomorrow"),
        ("UTC", "0001-01-01T00:00"), ("UTC", "9999-12-31T23:59"), ("Europe/Berlin", "0001-01-01T00:00"), ("UTC", "99999-01-01T00:00"),
    ],
)  # fmt: skip
def test_a_moment_that_is_not_or_is_twice_is_asked_about_and_nothing_is_written(zone, typed, floor, as_technician):
    with override_settings(TIME_ZONE=zone):
        answer = as_technician.post(f"/machines/{floor.machine.pk}/hours/", {"read_at": typed, "meter_h": "1215.5"})
    assert answer.status_code == 422
    assert answer.context["form"].errors["read_at"]
    assert HourReading.objects.count() == 1


def test_a_leap_day_is_a_day_and_more_than_a_day_ahead_is_refused(floor, as_technician, technician, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: datetime(2028, 2, 29, 12, tzinfo=UTC))
    address = f"/machines/{floor.machine.pk}/hours/"
    as_technician.force_login(technician)
    assert as_technician.post(address, {"read_at": "2028-02-29T10:00", "meter_h": "1900"}).status_code == 302
    assert as_technician.post(address, {"read_at": "2028-03-01T11:00", "meter_h": "1901"}).status_code == 302
    answer = as_technician.post(address, {"read_at": "2028-03-02T12:30", "meter_h": "1902"})
    assert answer.status_code == 422 and "future" in answer.content.decode()


def test_sums_of_money_are_exact_on_the_page_on_paper_and_line_by_line(floor, manager, as_manager):
    """Against exact fractions; a line's half cent goes up, the sum is the sum of the lines."""
    from io import BytesIO

    from pypdf import PdfReader

    from shop.workorders.actions import open_order

    order = open_order(by=manager, machine=floor.machine, complaint="slow")
    chance = random.Random(11)
    given = [(Decimal(chance.randrange(1, 100_000)) / 100, chance.randrange(0, 1_000_000)) for _ in range(1000)]
    OrderLine.objects.bulk_create(
        OrderLine(order=order, kind="part", words=f"Part {k}", quantity=q, price_each_cents=c) for k, (q, c) in enumerate(given)
    )
    exact = [int(Fraction(q) * c + Fraction(1, 2)) for q, c in given]
    kept = list(OrderLine.objects.filter(order=order).order_by("pk"))
    assert [line.quantity for line in kept] == [q for q, _ in given], "the database gives back what it was given"
    assert [line_cents(line) for line in kept] == [line.total_cents for line in kept] == exact and order_cents(kept) == sum(exact)
    said = spoken_money(sum(exact))
    plain = said.replace("\u202f", "").replace("\u00a0", " ")
    shown = as_manager.get(f"/orders/{order.pk}/quote/").content.decode()
    assert plain.removesuffix(" EUR") in shown.replace("\u202f", "")
    printed = as_manager.get(f"/orders/{order.pk}/quote.pdf").content
    words = "".join("".join(page.extract_text() for page in PdfReader(BytesIO(printed)).pages).split())
    assert plain.removesuffix(" EUR") in words
    assert WorkOrder.objects.count() == 1


INPUTS = ("oil temperature", "engine speed", "instrument", "oil", "relief setting")
QUANTITIES = {
    "charge_neutral": ("", 21.8, "bar"),
    "pump_case_flow": ("", 6.0, "L/min"),
    "top_speed": ("forward", 20.0, "km/h"),
    "main_relief": ("forward", 405.0, "bar"),
}


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_what_is_missing_is_never_taken_for_zero_or_for_good(quantity, floor, technician):
    """Every subset of the inputs: the verdict is the one of the whole, or "not comparable"; with all of them gone it is never good."""
    verdicts = {}
    for count in range(len(INPUTS) + 1):
        for missing in combinations(INPUTS, count):
            verdicts[missing] = judged_without(set(missing), quantity, floor, technician)
    whole = verdicts[()]
    assert whole.state not in ("not comparable", "impossible"), whole.reason
    for missing, verdict in verdicts.items():
        if verdict.state == "not comparable":
            assert verdict.reason and not verdict.takes_part
        else:
            assert verdict.expected == pytest.approx(whole.expected), f"without {missing}"
    assert verdicts[INPUTS].state == "not comparable"


def judged_without(missing: set, quantity: str, floor, by):
    direction, value, unit = QUANTITIES[quantity]
    gauge = {"bar": floor.system_gauge if value > 60 else floor.charge_gauge, "L/min": floor.flow_meter, "km/h": floor.tachometer}[unit]
    model = floor.drive_model
    relief = None if "relief setting" in missing else 22.0
    type(model).objects.filter(pk=model.pk).update(charge_relief_bar=relief, relief_forward_bar=relief and 400.0)
    floor.machine.fills.update(product=None if "oil" in missing else floor.oil)
    test = DriveTest.objects.create(
        number=f"T-{DriveTest.objects.count() + 1}", unit=floor.unit, machine=floor.machine, tested_by=by, life_h=1210, component_h=1210,
        tested_at=datetime(2026, 3, 2, 10, tzinfo=UTC) + timedelta(minutes=DriveTest.objects.count()),
        oil_temp_c=None if "oil temperature" in missing else 60, engine_speed_rpm=None if "engine speed" in missing else 2300,
        fluid=None if "oil" in missing else floor.oil,
    )  # fmt: skip
    reading = Reading.objects.create(
        drive_test=test, quantity=quantity, direction=direction, typed=str(value), typed_unit=unit, value=value, unit=unit,
        instrument=None if "instrument" in missing else gauge, loop_pressure_bar=200 if quantity == "pump_case_flow" else None,
    )  # fmt: skip
    assess_drive_test(DriveTest.objects.get(pk=test.pk))
    return reading.assessments.get(is_in_force=True)


@pytest.mark.parametrize("typed", ["n/a", "-", "?", "broken", "–"])
def test_words_for_nothing_are_not_a_figure(typed):
    assert as_form_reads(typed) is None


def test_a_day_is_a_day_in_every_year():
    assert date(2100, 2, 28) + timedelta(1) == date(2100, 3, 1)  # 2100 has no leap day; the sums of `calcs` agree below
    from calcs.calendar_sums import add_months

    assert [str(add_months(date(2099, 2, 28), 12)), str(add_months(date(2096, 2, 29), 48))] == ["2100-02-28", "2100-02-28"]


def boxes_for_days() -> list:
    """Every box of every form of ours in which a day or a moment is typed; a filter of a list only looks, and leaves out what cannot be."""
    import importlib

    for path in sorted((HOUSE / "shop").glob("*/*.py")):
        if "form" in path.name or path.name == "lines.py":
            importlib.import_module(".".join(path.relative_to(HOUSE).with_suffix("").parts))
    found, todo = {}, [forms.Form, forms.ModelForm]
    while todo:
        for child in todo.pop().__subclasses__():
            todo.append(child)
            if child.__module__.startswith("shop.") and not issubclass(child, FilterForm):
                days = {name: box for name, box in child.base_fields.items() if isinstance(box, (forms.DateField, forms.DateTimeField))}
                found |= {f"{child.__name__}.{name}": box for name, box in days.items()}
    return list(found.items())


@pytest.mark.parametrize(("name", "box"), boxes_for_days())
def test_a_slip_in_the_year_is_refused_wherever_a_day_is_typed(name, box):
    for slip in ("2999-01-01", "0206-05-04", "2025-02-29"):
        with pytest.raises(forms.ValidationError):
            box.clean(slip)


def test_a_day_by_which_it_is_wanted_has_not_gone_by(floor, as_technician):
    page = f"/orders/new/{floor.machine.pk}/"
    answer = as_technician.post(page, {"promised_on": "2020-01-01"})
    assert answer.status_code == 422 and "has gone by" in answer.content.decode()
