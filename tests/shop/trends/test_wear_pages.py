import re
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.models import ConditionAssessment, MetalGroup, MetalState, WearState
from shop.advice.review import review_shop
from shop.printing.picture import Dot
from shop.trends.chart import wear_picture
from shop.trends.life_of_quantity import lives_of
from shop.trends.rows import ranked, side_by_side, units_with_two_signs
from tests.wear_fleet import lay_wear_fleet, put_readings, put_unit, worn

LATER = datetime(2026, 1, 5, tzinfo=UTC)


@pytest.fixture
def drives(floor, technician):
    made = lay_wear_fleet(floor, technician, with_machines=True)
    review_shop()
    return made


def text_of(page) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode()))


def test_the_wearing_come_first_with_their_band_and_score(drives, as_technician):
    page = as_technician.get("/wear/").content.decode()
    places = [page.index(unit.tag) for unit in drives]
    assert max(places[:3]) < min(places[3:])
    assert page.count("eight in ten between") >= 2
    assert re.search(r"our last \d+ such forecasts caught \d+", page)
    assert "Nothing read on it wears measurably" in page


def test_ranked_by_hours_to_the_limit(drives):
    hours = [state.likely_h for state in ranked({}) if state.state == "wearing"]
    assert hours == sorted(hours)


def test_two_independent_signs_rank_above_either_alone(drives, as_technician):
    last = list(ranked({"state": "wearing"}))[-1].unit
    group = MetalGroup.objects.create(drive_model=last.drive_model, metal="Fe", numbers={}, usual_rate=2.0, machines=9, reviewed_at=LATER)
    machine = last.installations.get().machine
    MetalState.objects.create(
        machine=machine, group=group, metal="Fe", samples=6, state="wearing", alarm="critical", rate=5.0, level_ratio=2.4, last_life_h=2400,
        last_drawn_on=LATER.date(), reviewed_at=LATER,
    )  # fmt: skip
    assert list(units_with_two_signs().values_list("unit", flat=True)) == [last.pk]
    assert ranked({})[0].unit == last
    words = text_of(as_technician.get("/wear/"))
    assert "Two independent signs rise together , iron in the oil too." in words
    assert "Two independent signs rise together:" in text_of(as_technician.get(f"/drives/{last.pk}/"))


@pytest.mark.parametrize("junk", ["?page=x", "?page=-1&state=nothing", "?customer=999&drive_model=a", "?state=%00"])
def test_junk_in_the_address_does_not_break_the_page(drives, as_technician, junk):
    assert as_technician.get(f"/wear/{junk}").status_code == 200


def test_filters_narrow_the_list(drives, as_technician, floor):
    only = as_technician.get("/wear/?state=wearing").content.decode()
    assert drives[0].tag in only
    assert drives[9].tag not in only
    assert drives[0].tag in as_technician.get(f"/wear/?customer={floor.customer.pk}").content.decode()


def test_not_known_stands_apart_and_is_never_ranked(drives, as_technician, floor):
    silent = put_unit(floor, 300)
    page = as_technician.get("/wear/").content.decode()
    assert page.index("Not known") < page.index(silent.tag)
    assert silent.pk not in {state.unit_id for state in ranked({})}


def test_the_page_takes_the_same_queries_for_fifty_drives_as_for_five(floor, technician, as_technician):
    lay_wear_fleet(floor, technician, units=5, wearing=1, with_machines=True)
    review_shop()
    as_technician.get("/wear/")
    with CaptureQueriesContext(connection) as few:
        as_technician.get("/wear/")
    for number in range(45):
        put_readings(floor, technician, put_unit(floor, 400 + number, with_machine=True), worn(0.0, 4, number))
    review_shop()
    as_technician.get("/wear/")
    with CaptureQueriesContext(connection) as many:
        as_technician.get("/wear/")
    assert len(few) == len(many)


def test_before_the_first_review_the_page_says_what_to_do(floor, as_technician):
    assert "was not reviewed yet" in text_of(as_technician.get("/wear/"))


def test_a_page_for_one_drive_shows_its_story_picture_and_table(drives, as_technician):
    page = as_technician.get(f"/drives/{drives[0].pk}/")
    words = text_of(page)
    assert "What would change this:" in words
    assert "8 readings" in words
    assert page.content.decode().count('class="chart large"') >= 1
    assert page.content.decode().count('data-says="') >= 16


def test_suspects_stay_visible_and_are_open_dots(drives, floor, technician):
    reading = put_readings(floor, technician, drives[0], [3.3], first_h=2700, first_day=LATER)[0]
    ConditionAssessment.objects.filter(reading=reading).update(state="suspect instrument")
    life = lives_of(drives[0])[0]
    dots = [shape for shape in wear_picture(life).shapes if isinstance(shape, Dot)]
    assert len(dots) == 9
    assert [dot.role for dot in dots].count("dot open") >= 1
    assert "takes no part: suspect instrument" in dots[-1].says


def test_dates_stand_under_the_hours(drives):
    life = lives_of(drives[0])[0]
    assert str(life.day_at(300)) == "2023-03-01"
    assert str(life.day_at(2400)) == "2025-04-09"
    assert life.day_at(100) is None
    assert life.day_at(3000).year == 2025
    words = [shape.words for shape in wear_picture(life).shapes if hasattr(shape, "words")]
    assert any(re.fullmatch(r"~ \w{3} 20\d\d", word) for word in words)


def test_a_jump_parts_the_line_and_is_marked(drives, floor, technician):
    put_readings(floor, technician, drives[10], [2.0, 2.02, 1.98], first_h=2700, first_day=LATER)
    review_shop()
    life = lives_of(drives[10])[0]
    assert [len(stretch.rows) for stretch in life.stretches] == [8, 3]
    words = [shape.words for shape in wear_picture(life).shapes if hasattr(shape, "words")]
    assert "jumped Jan 2026" in words


def test_side_by_side_shows_one_dot_a_unit_and_leaves_suspects_out(drives, floor, technician, as_technician):
    reading = put_readings(floor, technician, drives[0], [3.3], first_h=2700, first_day=LATER)[0]
    ConditionAssessment.objects.filter(reading=reading).update(state="suspect instrument")
    rows = side_by_side(floor.drive_model, "pump_case_flow")
    assert len(rows) == len({unit.pk for unit, _, _ in rows}) == 16
    assert max(ratio for _, ratio, _ in rows) < 3
    page = as_technician.get("/wear/side-by-side/").content.decode()
    assert page.count("data-says=") == 16
    assert "n = 16" in page


def test_the_leading_state_is_the_gravest_then_the_nearest(drives):
    state = WearState.objects.filter(state="wearing").first()
    state.pk, state.quantity, state.likely_h, state.state = None, "charge_neutral", 1.0, "steady"
    state.save()
    leading = WearState.objects.leading().get(unit=state.unit)
    assert (leading.state, leading.quantity) == ("wearing", "pump_case_flow")
