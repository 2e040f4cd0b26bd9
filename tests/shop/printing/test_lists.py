"""Lists and charts on paper, from rows that the rooms hand in."""

import io

from pypdf import PdfReader

from shop.printing.health_report import drive_chart_paper
from shop.printing.lists import due_list_paper, season_plan_paper
from shop.printing.paper import make_pdf
from shop.printing.picture import Picture


def words_of(*papers) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(make_pdf(papers))).pages).split())


def test_the_plan_names_weeks_that_hold_more_than_there_is_and_jobs_that_found_no_place():
    weeks = [
        ("Week of 2 February", 30, 38, [["2026-02-03", "M-1", "Drive fluid", "Tilde", "3.5", "before the season block"]]),
        ("Week of 9 February", 50, 38, []),
    ]
    words = words_of(season_plan_paper(weeks, [["M-2", "Reseal", "12", "no bay is high enough"]], on="2026-01-20"))
    for wanted in (
        "30 of 38 hours",
        "50 of 38 hours: MORE THAN THERE ARE",
        "before the season block",
        "no bay is high enough",
        "nothing planned",
    ):
        assert wanted in words
    assert "Nothing is planned." in words_of(season_plan_paper([]))


def test_an_empty_due_list_says_so():
    assert "nothing is due" in words_of(due_list_paper([]))


def test_a_chart_is_drawn_with_its_words_and_its_table():
    picture = Picture(300, 200)
    picture.line([(10, 10), (290, 190)])
    picture.text(20, 30, "limit 1.20 <b>")
    picture.dot(50, 60, says="not on paper")
    body = make_pdf(
        [drive_chart_paper("Charge pressure", "D-00001", picture, [["300 h", "22.3 bar"]], ("Hours", "Read"), "Sinks slowly & steadily")]
    )
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(body)).pages).split())
    for wanted in ("limit 1.20 <b>", "22.3 bar", "Sinks slowly & steadily", "D-00001", "page 1 of 1"):
        assert wanted in words
    assert len(make_pdf([drive_chart_paper("Nothing", "D-2", None, [], ())])) > 1000
