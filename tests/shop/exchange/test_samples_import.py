"""Laboratory sheets: whose sample it is, what was found, what was not measured; a queue for what fits nobody."""

from datetime import UTC, datetime

import pytest

from fleet.models import LabValue, OilSample
from shop.exchange.plans import Choices
from shop.exchange.sample_actions import match_sample, record_samples
from shop.exchange.samples_plan import plan_samples
from shop.refusals import Refused
from tests.shop.exchange.sheets_of_floor import LAB, as_workbook

HEAD = "LabNo,SampleLabel,Sampled,Unit,HrsUnit,V40,Water%,Fe,Cr,4um,ISO4406,Comment"


@pytest.fixture
def waiting(floor):
    return OilSample.objects.create(label="LK-00001", machine=floor.machine, drawn_at=datetime(2026, 3, 12, 9, tzinfo=UTC))


@pytest.fixture
def send(waiting, technician):
    def sent(text, **choices):
        plan = plan_samples(text if isinstance(text, bytes) else text.encode(), technician, Choices(**choices))
        record_samples(by=technician, plan=plan, reason="lab", laboratory=choices.get("laboratory", ""))
        return plan

    return sent


def one(
    label="LK-00001",
    sampled="2026-03-12",
    unit="",
    hours="",
    v40="46.2",
    water="<0.05",
    fe="12",
    cr="ND",
    count="",
    code="20/18/14",
    words="",
):
    return f"{HEAD}\nT-1,{label},{sampled},{unit},{hours},{v40},{water},{fe},{cr},{count},{code},{words}\n"


def test_results_go_to_the_sample_with_that_label_however_it_is_written(send, waiting):
    plan = send(LAB)
    assert (plan.refused, len(plan.fresh)) == ([], 2)
    found = {value.item: value for value in waiting.values.all()}
    assert (found["V40"].value, found["V40"].typed, found["V40"].unit) == (46.1, "46,1", "mm2/s")
    assert (found["Fe"].value, found["Fe"].is_below_limit, found["Fe"].typed) == (None, True, "<1")
    assert (found["Cr"].value, found["Cr"].is_below_limit) == (None, True)
    assert found["Water"].value == pytest.approx(0.065)  # 650 ppm
    assert found["ISO4406"].typed == "20/18/14"


def test_what_was_not_measured_is_left_out_not_nought(send, waiting):
    send(one(fe="..", cr="", water="-", count="n/a"))
    assert set(waiting.values.values_list("item", flat=True)) == {"V40", "ISO4406"}


def test_nought_is_a_figure(send, waiting):
    send(one(fe="0"))
    assert waiting.values.get(item="Fe").value == 0


@pytest.mark.parametrize(("water", "per_cent"), [("0.02", 0.02), ("650 ppm", 0.065), ("0,065", 0.065), ("0.1 %", 0.1)])
def test_water_is_kept_in_per_cent_whatever_it_came_in(send, waiting, water, per_cent):
    send(one(water=f'"{water}"'))
    assert waiting.values.get(item="Water").value == pytest.approx(per_cent)


@pytest.mark.parametrize(
    ("given", "column", "words"),
    [
        ({"code": "14/17/19"}, "K ISO4406", "no cleanliness code"),
        ({"code": "20/18"}, "", ""),
        ({"fe": "abc"}, "H Fe", "no figure"),
        ({"fe": "-3"}, "H Fe", "no figure"),
        ({"fe": "1.234"}, "H Fe", "may mean"),
        ({"fe": "1e9"}, "H Fe", "no figure"),
        ({"water": "120 %"}, "G Water%", "no figure"),
        ({"sampled": "03/04/2026"}, "C Sampled", "may mean"),
        ({"sampled": "2099-01-01"}, "C Sampled", "cannot be"),
        ({"label": ""}, "B SampleLabel", "No label"),
        ({"label": "=1+1"}, "B SampleLabel", "cannot be"),
        ({"hours": "x"}, "E HrsUnit", "no number"),
    ],
)
def test_faults_are_named(send, given, column, words):
    plan = send(one(**given))
    if not column:
        assert plan.refused == []
        return
    assert [refusal.column for refusal in plan.refused] == [column]
    assert words in plan.refused[0].reason
    assert not LabValue.objects.exists()


def test_the_same_sheet_adds_nothing(send):
    send(LAB)
    before = LabValue.objects.count()
    plan = send(LAB)
    assert (plan.known, len(plan.fresh), plan.refused, LabValue.objects.count()) == (2, 0, [], before)


def test_other_figures_for_a_sample_with_results_are_refused(send):
    send(one())
    assert "has results already" in send(one(fe="99")).refused[0].reason


def test_two_rows_that_differ_over_one_sample_refuse_each_other(send):
    assert len(send(one() + one(fe="99").splitlines()[1] + "\n").refused) == 2


def test_a_label_not_ours_is_taken_for_the_one_sample_that_waits_from_that_machine_and_day(send, waiting):
    plan = send(one(label="BOTTLE 9", unit="M-00001", sampled="2026-03-13"))
    assert plan.fresh[0].sample == waiting and "taken for LK-00001" in plan.notes[-1]


@pytest.mark.parametrize(("unit", "sampled"), [("HYD", "2026-03-12"), ("M-00001", "2026-05-12"), ("", "2026-03-12")])
def test_what_fits_no_sample_waits_in_a_queue_with_the_reason(send, unit, sampled):
    send(one(label="LK-9", unit=unit, sampled=sampled, words="clean"))
    sample = OilSample.objects.get(label="LK-9")
    assert (sample.machine, sample.laboratory_words, sample.values.count()) == (None, "clean", 5)
    assert "No sample of ours carries this label" in sample.unmatched_reason


def test_a_sample_of_the_queue_is_matched_once(send, floor, technician):
    send(one(label="LK-9"))
    sample = OilSample.objects.get(label="LK-9")
    match_sample(by=technician, sample=sample, machine=floor.machine, reason="label fell off")
    assert (sample.machine, sample.unmatched_reason) == (floor.machine, "")
    with pytest.raises(Refused):
        match_sample(by=technician, sample=OilSample.objects.get(pk=sample.pk), machine=floor.machine, reason="again")


def test_the_page_of_the_queue_leads_to_the_match(send, floor, as_technician):
    send(one(label="LK-9"))
    sample = OilSample.objects.get(label="LK-9")
    assert "LK-9" in as_technician.get("/samples/without-machine/").content.decode()
    assert as_technician.post(f"/samples/{sample.pk}/match/", {"machine": "M-9", "reason": "x"}).status_code == 422
    answer = as_technician.post(f"/samples/{sample.pk}/match/", {"machine": "m-00001", "reason": "asked the customer", "token": "one"})
    assert answer.status_code == 302
    sample.refresh_from_db()
    assert sample.machine == floor.machine


def test_a_workbook_of_results_is_read_like_the_text(send, waiting):
    plan = send(as_workbook([line.split(",") for line in one().splitlines()]))
    assert (plan.refused, len(plan.fresh)) == ([], 1)


@pytest.mark.parametrize("text", ["a,b,c\n1,2,3\n", "SampleLabel,Sampled,Comment\nx,y,z\n", "Fe,Cu,Cr\n1,2,3\n"])
def test_a_sheet_that_is_no_laboratorys_is_refused_as_a_whole(send, text):
    with pytest.raises(Refused):
        send(text)
