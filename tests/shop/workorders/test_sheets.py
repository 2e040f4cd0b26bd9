"""The papers of an order, word for word: what a technician pins on the board, the test sheet behind it, labels, tags, quote, warranty pack."""

import io
import json
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from pypdf import PdfReader

from calcs.fluid import density_at, viscosity_at
from fleet.models import AcceptanceRule, DriveTest, FluidFill, Port, Reading
from shop.cautions import CAUTIONS, WORDS, cautions_of
from shop.models import IntervalRule, TaskDone, WorkOrder
from shop.papers.actions import keep_paper
from shop.printing.label import NextService, PartTag, part_tags, service_labels
from shop.printing.paper import make_pdf
from shop.printing.quote import quote_paper
from shop.workorders.actions import open_order
from shop.workorders.frozen import frozen_of, kept_of
from shop.workorders.lines import add_line
from shop.workorders.reading_rows import rows_of_test
from shop.workorders.rows import kept_words
from shop.workorders.sheet import order_paper
from shop.workorders.warranty import break_in_chain, keep_chain, pack_of

GOLDEN = Path(__file__).parent / "golden"
TAKEN_IN = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def pages_of(body: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(body)).pages]


@pytest.fixture
def order(floor, manager, task):
    order = open_order(
        by=manager, machine=floor.machine, complaint="Slow when hot.\nWorse uphill <b>fully laden</b> & in the evening", tasks=[task],
        symptom="slow_hot", taken_in_at=TAKEN_IN, caller="Åse Brinkholm, 555 0101", intake={"hurt": "no", "safe": "yes", "direction": "both"},
        promised_on=date(2026, 3, 20),
    )  # fmt: skip
    add_line(
        by=manager,
        order=order,
        kind="labour",
        words="Reseal pump",
        quantity=Decimal("4.5"),
        price_each_cents=9_500,
        evidence="Case drain 9.3 L/min at 80 °C",
    )
    add_line(by=manager, order=order, kind="sublet", words="Grind the plate", quantity=1, price_each_cents=30_000, urgency="before_season")
    return order


def test_the_work_order_reads_word_for_word_as_it_should(order, as_technician):
    pages = pages_of(as_technician.get(f"/orders/{order.pk}/order.pdf").content)
    wanted = (GOLDEN / "work_order.txt").read_text()
    assert len(pages) == 3
    assert "\n".join(" ".join(page.split()) for page in pages[:2]) + "\n" == wanted


def test_the_sheet_prints_only_the_cautions_of_its_own_steps(order, as_technician):
    words = " ".join(" ".join(pages_of(as_technician.get(f"/orders/{order.pk}/order.pdf").content)[:2]).split())
    for code in ("C1", "C2", "C3", "C4", "C5"):
        assert f"{code} {CAUTIONS[code].title}" in words
    for code in ("C9", "C11", "C12", "C16"):
        assert CAUTIONS[code].title not in words


def test_cautions_stand_gravest_first_and_none_gets_lost():
    words = [caution.word for caution in cautions_of(CAUTIONS)]
    assert words == sorted(words, key=WORDS.index) and len(words) == 18
    with pytest.raises(ValueError, match="C99"):
        cautions_of(["C1", "C99"])


def row(tests: dict, start: str) -> list[str]:
    return next(row for row in tests["rows"] if row[0].startswith(start))


def test_a_drain_scales_with_the_oils_own_viscosity_at_four_temperatures(floor):
    """The same leak through the same gap goes with one over dynamic viscosity: ASTM D341 viscosities of a VG 46 oil, laminar flow."""
    floor.drive_model.servo_flow_lpm = 0.0
    floor.drive_model.save()
    figures = [float(figure) for figure in row(rows_of_test(floor.unit, floor.machine), "T08 Pump case drain flow")[4:8]]
    thickness = [viscosity_at(temp, 46, 6.8) * density_at(temp, 870) for temp in (50, 60, 70, 80)]
    for figure, thick in zip(figures, thickness, strict=True):
        assert figure == pytest.approx(figures[1] * thickness[1] / thick, abs=0.06)
    assert figures[3] / figures[0] == pytest.approx(30.0 / 11.1, rel=0.05), (
        "published: the same wear reads 2.7 times higher at 80 than at 50"
    )


def test_the_makers_rule_decides_and_names_its_page(floor):
    AcceptanceRule.objects.create(
        drive_model=floor.drive_model,
        quantity="charge_neutral",
        form="minimum",
        low=21,
        document=floor.document,
        page="43",
        oil_low_c=50,
        oil_high_c=70,
    )
    Port.objects.create(
        drive_model=floor.drive_model, code="CH", name="Charge", thread="9/16-18 UNF", quantity="charge_neutral", gauge_span_bar=60
    )
    found = row(rows_of_test(floor.unit, floor.machine), "T03 Charge pressure, neutral, high idle")
    assert "21.0\u00a0bar or more, oil 50 to 70\u00a0°C [Drive book H75 HD-75 rev. C, p. 43]" in found
    assert "CH 9/16-18 UNF" in found and "G-11, 0–60 bar" in found and "2300" in found


def test_a_gauge_that_cannot_decide_is_named_before_the_test(floor):
    floor.charge_gauge.accuracy_class_pct, floor.charge_gauge.resolution = 1.6, 1.0
    floor.charge_gauge.save()
    AcceptanceRule.objects.create(
        drive_model=floor.drive_model, quantity="charge_neutral", form="minimum", low=21.8, document=floor.document, page="43"
    )
    remarks = " ".join(rows_of_test(floor.unit, floor.machine)["remarks"])
    assert "G-11" in remarks and "undecided" in remarks and "use a class" in remarks


def test_without_a_known_fluid_there_is_no_expected_value(floor):
    FluidFill.objects.update(product=None)
    tests = rows_of_test(floor.unit, floor.machine)
    assert tests["remarks"][0].startswith("Fluid unknown: no expected value")
    assert row(tests, "T08 Pump case drain flow")[4:8] == ["–"] * 4


def test_the_last_reading_stands_beside_the_blank(floor, technician):
    test = DriveTest.objects.create(
        number="T-00009",
        unit=floor.unit,
        machine=floor.machine,
        tested_at=TAKEN_IN,
        tested_by=technician,
        life_h=1200,
        component_h=1200,
        oil_temp_c=62,
    )
    Reading.objects.create(drive_test=test, quantity="charge_neutral", typed="276", typed_unit="psi", value=19.03, unit="bar")
    assert row(rows_of_test(floor.unit, floor.machine), "T03 Charge pressure, neutral, high idle")[9] == "19.0 at 62\u00a0°C, 2026-03-02"


def test_the_sheet_speaks_in_the_persons_units(floor, technician):
    from shop.models import Person

    Person.objects.create(user=technician, system="us")
    found = row(rows_of_test(floor.unit, floor.machine, technician), "T03 Charge pressure, neutral, high idle [psi]")
    assert 300 < float(found[5]) < 340


def test_the_blank_sheet_has_room_to_write_and_working_if_asked(floor, as_technician):
    plain = pages_of(as_technician.get(f"/drives/{floor.unit.pk}/test-sheet.pdf").content)
    assert plain[0].count("____ / _______") == 26
    worked = " ".join(pages_of(as_technician.get(f"/drives/{floor.unit.pk}/test-sheet.pdf?working=1").content))
    for words in ("Calc 1", "Q = K dp/mu", "ASTM D341", "mm2/s"):
        assert words in worked
    floor.installation.delete()
    assert as_technician.get(f"/drives/{floor.unit.pk}/test-sheet.pdf").status_code == 302


def test_the_quote_has_three_groups_with_why_and_sums(order, as_office):
    words = " ".join(pages_of(as_office.get(f"/orders/{order.pk}/quote.pdf").content)[0].split())
    for wanted in ("Case drain 9.3 L/min at 80 °C", "Now, together", "427.50 EUR", "Before season, together", "300.00 EUR", "727.50 EUR"):
        assert wanted in words.replace("\u00a0", " ")


def test_the_label_fits_its_size_and_says_the_order_in_its_code():
    label = NextService(
        "M-00001 W180",
        "2026-03-02, 1 215.0 h",
        (("FILTER next: 1 700 h or 2027-03-15", True), ("FLUID next: 2 200 h", False)),
        "Oil: Fenoil Hydrol 46 VG 46",
        "W-00001",
        "555 0100",
    )
    body = service_labels([label] * 2)
    reader = PdfReader(io.BytesIO(body))
    assert len(reader.pages) == 2
    box = reader.pages[0].mediabox
    assert (round(float(box.width) / 72 * 25.4), round(float(box.height) / 72 * 25.4)) == (60, 40)
    words = reader.pages[0].extract_text()
    for wanted in ("M-00001 W180", "FILTER next: 1 700 h or 2027-03-15", "FLUID next", "Fenoil Hydrol 46 VG 46", "555 0100", "W-00001"):
        assert wanted in words
    assert service_labels([label] * 2) == body


@pytest.mark.parametrize("words", ["w" * 300, "<b>x</b>", "東京" * 40, "", "שלום"])
def test_labels_and_tags_hold_any_words(words):
    assert len(service_labels([NextService(words, words, ((words, True),) * 9, words, "W-1", words)])) > 1000
    assert len(part_tags([PartTag(words, words, words, "W-1", ((words, words),) * 9)])) > 1000


def test_the_printed_order_prints_again_to_the_same_bytes(order, as_technician):
    first, second = (as_technician.get(f"/orders/{order.pk}/order.pdf").content for _ in range(2))
    assert first == second


def test_four_hundred_lines_print_whole(order, as_technician, manager):
    from shop.models import OrderLine

    OrderLine.objects.bulk_create(OrderLine(order=order, position=n, words=f"line {n} <i>&", kind="task") for n in range(400))
    words = " ".join(pages_of(as_technician.get(f"/orders/{order.pk}/order.pdf").content))
    assert all(f"line {n} <i>&" in words for n in range(400))


def test_an_order_without_drive_machine_hours_or_words_prints_too(floor, manager, as_technician):
    floor.installation.delete()
    order = open_order(by=manager, machine=floor.machine, life_h=None)
    WorkOrder.objects.filter(pk=order.pk).update(promised_on=None, caller="")
    for page in ("order.pdf", "quote.pdf", "label.pdf"):
        assert as_technician.get(f"/orders/{order.pk}/{page}").status_code == 200


@pytest.fixture
def ruled(floor, task):
    floor.unit.warranty_to, floor.unit.warranty_to_h, floor.unit.warranty_payer = date(2026, 12, 31), Decimal("2000.0"), "Hollowick Drives"
    floor.unit.save()
    IntervalRule.objects.create(task=task, drive_model=floor.drive_model, every_h=500, every_months=60, document=floor.document, page="9")
    for life_h, day in ((480, date(2023, 5, 1)), (1000, date(2025, 4, 1))):
        TaskDone.objects.create(task=task, machine=floor.machine, done_on=day, life_h=life_h)
    return task


@pytest.fixture
def claim(order, ruled) -> WorkOrder:
    return WorkOrder.objects.get(pk=order.pk)


def test_the_warranty_pack_says_which_services_were_kept(claim, as_office):
    pack = pack_of(claim)
    assert [entry[5] for entry in pack["upkeep"]] == ["kept", "kept", "kept"]
    assert dict(pack["rule"])["Services"] == "kept" and dict(pack["rule"])["Hours"] == "holds"
    words = " ".join(pages_of(as_office.get(f"/orders/{claim.pk}/warranty.pdf").content))
    for wanted in ("Hollowick Drives", "Drive book H75", "Chain over the evidence", pack["chain"][-1][0]):
        assert wanted in " ".join(words.split())


def test_a_missed_service_is_named(claim, floor):
    TaskDone.objects.filter(life_h=480).update(was_done=False, why_not="no filter")
    rule = dict(pack_of(claim)["rule"])
    assert rule["Services"] == "MISSED: Charge filter"
    floor.unit.warranty_to = date(2026, 1, 1)
    floor.unit.save()
    assert dict(pack_of(WorkOrder.objects.get(pk=claim.pk))["rule"])["Date"] == "DOES NOT HOLD"


def test_a_later_change_breaks_the_chain_and_the_row_is_named(claim, manager, as_office, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    keep_chain(by=manager, order=claim)
    assert break_in_chain(claim, pack_of(claim)) == ""
    assert "agrees with the one kept" in as_office.get(f"/orders/{claim.pk}/warranty/").content.decode()
    TaskDone.objects.filter(life_h=480).update(life_h=520)
    assert "520" in break_in_chain(claim, pack_of(claim)) and "480" in break_in_chain(claim, pack_of(claim))
    assert "chain is broken" in as_office.get(f"/orders/{claim.pk}/warranty/").content.decode()
    assert "THE CHAIN IS BROKEN" in " ".join(" ".join(pages_of(as_office.get(f"/orders/{claim.pk}/warranty.pdf").content)).split())


def test_the_pack_shows_photos_in_grey(claim, manager, as_office, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    out = io.BytesIO()
    Image.new("RGB", (2000, 1500), "orange").save(out, "JPEG")
    keep_paper(by=manager, upload=SimpleUploadedFile("worn plate.jpg", out.getvalue()), kind="photo", caption="valve plate", order=claim)
    reader = PdfReader(io.BytesIO(as_office.get(f"/orders/{claim.pk}/warranty.pdf").content))
    images = [image for page in reader.pages for image in page.images]
    assert len(images) == 1
    assert "worn plate.jpg. valve plate" in " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_what_is_kept_is_plain_enough_for_the_database(order):
    assert json.loads(json.dumps(kept_words(order))) == kept_words(order)


def test_what_is_kept_folds_small_and_unfolds_whole(order):
    kept = kept_words(order)
    frozen = frozen_of(kept)
    assert kept_of(frozen) == kept
    assert len(json.dumps(frozen)) < len(json.dumps(kept)) / 2


def test_an_order_kept_by_an_earlier_edition_still_prints(order):
    kept = kept_words(order)
    for name in ("quote", "quote_sum", "released_h", "others"):
        del kept[name]
    assert len(make_pdf([order_paper(kept_of(kept)), quote_paper(kept_of(kept))])) > 10_000


def test_a_person_prints_on_their_own_paper(order, as_technician, technician):
    from shop.models import Person

    Person.objects.create(user=technician, paper="Letter")
    box = PdfReader(io.BytesIO(as_technician.get(f"/orders/{order.pk}/order.pdf").content)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == (612, 792)
    box = PdfReader(io.BytesIO(as_technician.get(f"/orders/{order.pk}/order.pdf?paper=A4").content)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == (595, 842)
