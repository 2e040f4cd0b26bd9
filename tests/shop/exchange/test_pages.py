"""Pages of the import: looked at first, written on request, once; refused rows come back as a file; who may."""

import csv
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from fleet.models import DriveTest, HourReading, OilSample, Reading
from shop.exchange import desk
from shop.models import ImportFile
from tests.conftest import signed_in
from tests.shop.exchange.sheets_of_floor import LAB, SNAPSHOT, WIDE, as_csv, long_rows


def brought(client, body: bytes, kind: str = "readings", name: str = "sheet.csv", **given) -> ImportFile:
    answer = client.post("/imports/", {"kind": kind, "file": SimpleUploadedFile(name, body), **given})
    assert answer.status_code == 302, answer.content.decode()
    file = ImportFile.objects.latest("pk")
    assert client.get(answer.url).status_code == 200
    return file


def written(client, file: ImportFile, **given) -> ImportFile:
    client.post(f"/imports/{file.pk}/write/", {"digest": file.found["digest"], **given})
    file.refresh_from_db()
    return file


def test_a_file_is_shown_first_and_written_on_request(floor, as_technician):
    file = brought(as_technician, as_csv(long_rows()))
    assert (file.stage, Reading.objects.count()) == ("looked", 0)
    page = as_technician.get(f"/imports/{file.pk}/").content.decode()
    assert "Would be written" in page and "21.8" in page and "Write 10" in page
    assert written(as_technician, file).stage == "done"
    assert (Reading.objects.count(), DriveTest.objects.count()) == (10, 2)


def test_writing_twice_writes_once(floor, as_technician):
    file = brought(as_technician, as_csv(long_rows()))
    written(as_technician, file)
    written(as_technician, file)
    assert Reading.objects.count() == 10


def test_good_rows_are_written_alone_only_where_that_is_said(floor, as_technician):
    rows = long_rows(1)
    rows[2][6] = "=2+2"
    file = brought(as_technician, as_csv(rows))
    refused = as_technician.post(f"/imports/{file.pk}/write/", {"digest": file.found["digest"]})
    assert (refused.status_code, Reading.objects.count()) == (422, 0)
    assert written(as_technician, file, good_rows_only="on").stage == "done"
    assert Reading.objects.count() == 4


def test_refused_rows_come_back_as_a_file_that_can_be_put_right_and_brought_again(floor, as_technician):
    file = brought(as_technician, WIDE.replace(";22,4;", ";=22,4;").encode())
    written(as_technician, file, good_rows_only="on")
    assert Reading.objects.count() == 4
    text = as_technician.get(f"/imports/{file.pk}/refused.csv").content.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert (rows[0]["Charge N [bar]"], rows[0]["refused_line"], rows[0]["refused_column"]) == ("'=22,4", "5", "I Charge N")
    assert rows[0]["refused_because"] and rows[0]["write_instead"]
    again = brought(as_technician, text.replace("'=22,4", "22,4").encode(), name="mended.csv")
    assert (again.found["refused"], again.found["fresh"]) == ([], 3)
    assert written(as_technician, again).stage == "done"
    assert brought(as_technician, WIDE.encode()).found["known"] == 7


def test_the_decimal_sign_and_the_order_of_days_can_be_said_afterwards(floor, as_technician):
    rows = [[cell.replace("2026-03-10T09:30", "10/03/2026 09:30").replace("1211.0", "1,211") for cell in row] for row in long_rows(1)]
    file = brought(as_technician, as_csv(rows))
    assert file.found["fresh"] == 0
    as_technician.post(f"/imports/{file.pk}/again/", {"decimal": ".", "day_order": "day", "put_right": ""})
    file.refresh_from_db()
    assert (file.found["refused"], file.found["fresh"]) == ([], 5)


def test_a_page_that_is_out_of_date_writes_nothing(floor, as_technician):
    file = brought(as_technician, as_csv(long_rows()))
    as_technician.post(f"/imports/{file.pk}/write/", {"digest": "0" * 64})
    assert Reading.objects.count() == 0


def test_a_book_that_changed_meanwhile_is_shown_before_anything_is_written(floor, as_technician, bring):
    file = brought(as_technician, as_csv(long_rows()))
    bring(as_csv(long_rows(1)))
    file = written(as_technician, file)
    assert (file.stage, file.found["known"], Reading.objects.count()) == ("looked", 5, 5)
    assert "changed since" in file.words
    assert written(as_technician, file).stage == "done"
    assert Reading.objects.count() == 10


def test_two_who_bring_the_same_sheet_write_it_once(floor, as_technician, as_manager):
    first, second = brought(as_technician, as_csv(long_rows())), brought(as_manager, as_csv(long_rows()))
    written(as_technician, first)
    written(as_manager, second)
    assert Reading.objects.count() == 10


def test_who_may_not_correct_the_record_cannot_do_so_by_a_file(floor, as_office, bring):
    bring(as_csv(long_rows(1)))
    rows = long_rows(1)
    rows[1][6] = "22.9"
    file = brought(as_office, as_csv(rows))
    as_office.post(f"/imports/{file.pk}/again/", {"put_right": "I say so"})
    file.refresh_from_db()
    assert (file.found["amended"], file.choices["put_right"], len(file.found["refused"])) == (0, "", 1)


def test_what_is_no_sheet_is_refused_and_can_be_thrown_away(floor, as_technician, settings):
    file = brought(as_technician, b"%PDF-1.4 x")
    assert (file.stage, "PDF" in file.words) == ("refused", True)
    assert len(list(settings.MEDIA_ROOT.iterdir())) == 1
    as_technician.post(f"/imports/{file.pk}/throw-away/")
    assert not ImportFile.objects.exists() and not list(settings.MEDIA_ROOT.iterdir())


def test_a_file_that_was_written_is_kept(floor, as_technician, settings):
    file = written(as_technician, brought(as_technician, as_csv(long_rows())))
    as_technician.post(f"/imports/{file.pk}/throw-away/")
    assert ImportFile.objects.filter(pk=file.pk).exists() and list(settings.MEDIA_ROOT.iterdir())


def test_files_that_nobody_wrote_are_thrown_away_after_two_days(floor, as_technician, settings):
    file = brought(as_technician, as_csv(long_rows()))
    ImportFile.objects.update(moved_at=timezone.now() - timezone.timedelta(days=3))
    desk.clear_old()
    assert not ImportFile.objects.filter(pk=file.pk).exists() and not list(settings.MEDIA_ROOT.iterdir())


def test_a_file_over_ten_megabytes_is_refused_at_the_door(floor, as_technician):
    answer = as_technician.post("/imports/", {"kind": "readings", "file": SimpleUploadedFile("a.csv", b"a" * (10 * 1024 * 1024 + 1))})
    assert answer.status_code == 422 and "10 MB" in answer.content.decode()
    assert not ImportFile.objects.exists()


def test_work_that_stopped_is_told_and_nothing_is_written(floor, as_technician, monkeypatch):
    def falls(*_):
        raise RuntimeError("the disk is gone")

    monkeypatch.setattr(desk, "plan_of", falls)
    file = brought(as_technician, as_csv(long_rows()))
    assert (file.stage, Reading.objects.count()) == ("stopped", 0)


def test_work_that_stands_still_can_be_begun_again(floor, as_technician):
    file = brought(as_technician, as_csv(long_rows()))
    ImportFile.objects.update(stage="looking", moved_at=timezone.now() - timezone.timedelta(minutes=5))
    assert "stands still" in as_technician.get(f"/imports/{file.pk}/").content.decode()
    as_technician.post(f"/imports/{file.pk}/again/", {})
    file.refresh_from_db()
    assert file.stage == "looked"


def test_markup_in_a_file_stays_text(floor, as_technician):
    rows = long_rows(1)
    rows[1][0], rows[1][12] = "<script>x</script>", "<img src=x>"
    file = brought(as_technician, as_csv(rows), name="<b>a</b>.csv")
    page = as_technician.get(f"/imports/{file.pk}/").content.decode()
    assert "<script>x" not in page and "<b>a</b>" not in page and "&lt;script&gt;x" in page


def test_hours_and_samples_come_by_the_same_door(floor, as_technician):
    OilSample.objects.create(label="LK-00001", machine=floor.machine, drawn_at=timezone.now())
    assert written(as_technician, brought(as_technician, SNAPSHOT.encode(), "hours", "fleet.xml")).stage == "done"
    assert written(as_technician, brought(as_technician, LAB.encode(), "samples", "lab.csv", laboratory="Lab Norr")).stage == "done"
    assert HourReading.objects.filter(origin="telematics").count() == 1
    assert OilSample.objects.get(label="LK-00001").laboratory == "Lab Norr"


PLACES = ["/imports/", "/imports/{}/", "/imports/{}/refused.csv", "/samples/without-machine/"]


@pytest.mark.parametrize("place", PLACES)
def test_pages_answer_those_who_may_and_send_a_stranger_to_the_door(floor, as_technician, as_stranger, counter, place):
    file = brought(as_technician, as_csv(long_rows()))
    address = place.format(file.pk)
    assert as_stranger.get(address).status_code == 302
    assert signed_in(counter).get(address).status_code == (200 if "samples" in place else 403)
    assert as_technician.get(address).status_code == 200
    assert as_technician.get(address.replace(str(file.pk), "99999")).status_code in (200, 404)


def test_the_list_of_files_asks_the_same_number_of_questions_for_many(floor, as_technician, django_assert_num_queries):
    from tests.shop.asking import questions_of

    brought(as_technician, as_csv(long_rows()))
    few = questions_of(as_technician, "/imports/")
    for _ in range(12):
        brought(as_technician, as_csv(long_rows()))
    assert questions_of(as_technician, "/imports/") == few
