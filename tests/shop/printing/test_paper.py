"""Whatever stands in a field, a sheet is built, says the same words, and nothing in them is read as markup."""

import io
import re
import unicodedata
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from shop.printing.letters import LOST, known_signs, printable, wrapped
from shop.printing.paper import Head, NewPage, code_squares, make_pdf, text
from shop.printing.ruled import Column, Ruled
from shop.printing.scripts import in_reading_order

MARKUP = (
    "<b>bold</b>", "</para>", "<img src=/etc/passwd>", "<a href='https://x.example'>y</a>", '<font color="red">z</font>', "a & b", "<5 gpm",
    "5 > 3 < 7",
    "<!-- gone -->", "<![CDATA[ gone ]]>", "&amp; &lt;", "%s {0} ${x}", "{{ x }}{% y %}", "\\n \\u0000", "<br/><onDraw name='x'/>",
    "=cmd|' /C calc'!A0",
)  # fmt: skip
SIGNS = "é ß ø ½ ≤ Ω µ ° ☐ ☑ ☒ Δp ±3 N·m Łódź Đặng Ελλάδα Господарство"


def sheet(*pieces, paper="A4") -> PdfReader:
    return PdfReader(io.BytesIO(make_pdf([(Head("Sheet", "W-00001", "In work", "", "W-00001"), list(pieces))], paper)))


def words_on(reader) -> str:
    """The words of all pages without heads and feet, spaces folded away."""
    return "".join("".join(page.extract_text().split()) for page in reader.pages)


def folded(words: str) -> str:
    return "".join(unicodedata.normalize("NFC", words).split())


@pytest.mark.parametrize("words", MARKUP)
def test_markup_is_printed_as_the_words_it_is(words):
    reader = sheet(text(words), Ruled([Column(1, "Head"), Column(2, words)], [[words, words]], title=words))
    assert words_on(reader).count(folded(words)) == 5
    for page in reader.pages:
        assert "/Annots" not in page
        assert not page["/Resources"].get("/XObject")


@given(st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Z"), max_codepoint=0x24F), max_size=400))
@settings(max_examples=200, deadline=None)
def test_any_western_words_come_back_as_they_went_in(words):
    known = known_signs("Shop")
    expected = folded("".join(sign if ord(sign) in known else LOST for sign in unicodedata.normalize("NFC", words)))
    drawn = folded("".join(wrapped(printable(words), "Shop", 9.0, 400.0)))
    assert drawn == expected
    assert len(sheet(text(words)).pages) >= 1


@given(st.text(max_size=300))
@settings(max_examples=100, deadline=None)
def test_any_words_at_all_make_a_sheet(words):
    assert len(sheet(text(words), Ruled([Column(), Column(3)], [[words, None]], title=words)).pages) >= 1


def test_accented_greek_cyrillic_and_signs_come_back_whole():
    assert folded(SIGNS) in words_on(sheet(text(SIGNS)))


@pytest.mark.parametrize("words", ["東京農機", "김농장", "🚜"])
def test_signs_the_font_lacks_are_marked_and_the_sheet_says_so(words):
    reader = sheet(Ruled([Column()], [[f"Customer {words}"]]))
    found = words_on(reader)
    assert f"Customer{LOST * len(words)}" in found
    assert "isnotinthefontofthissheet" in found
    assert "isnotinthefontofthissheet" not in words_on(sheet(text("Customer Ω")))


def test_hebrew_and_arabic_names_are_drawn_from_right_to_left_and_joined():
    assert in_reading_order("שלום") == "םולש"
    assert unicodedata.normalize("NFKC", in_reading_order("مزرعة")) == "مزرعة"[::-1]
    assert in_reading_order("مزرعة") != "مزرعة"[::-1], "the letters are joined"
    assert in_reading_order("Farm שלום 12") == "Farm םולש 12"
    assert in_reading_order("שלום (12) רב") == "בר (12) םולש"
    assert in_reading_order("Brinkholm & Co (12)") == "Brinkholm & Co (12)"
    reader = sheet(text("مزرعة الوادي"))  # the reader turns drawn words back into the order in which they are read
    assert "مزرعةالوادي" in unicodedata.normalize("NFKC", words_on(reader))


@pytest.mark.parametrize("words", ["w" * 20_000, "many words " * 1_820, "line\n" * 4_000, "ß" * 300])
@pytest.mark.parametrize("make", [text, lambda words: Ruled([Column(1, "A"), Column(4, "B")], [["x", words], ["y", "z"]], title="T")])
def test_very_long_words_and_notes_run_over_pages_and_lose_nothing(words, make):
    reader = sheet(make(words))
    found = words_on(reader)
    wanted = folded(words)
    step = wanted[0] if len(set(wanted)) == 1 else wanted[:9] if wanted.startswith("many") else "line"
    assert found.count(step) >= wanted.count(step)
    assert f"page{len(reader.pages)}of{len(reader.pages)}" in found


def test_four_hundred_rows_break_between_rows_with_heads_on_every_page():
    reader = sheet(
        Ruled([Column(1, "Number", "right"), Column(5, "Words")], [[str(n), f"row {n} " + "x " * 40] for n in range(400)], title="Rows")
    )
    pages = [page.extract_text() for page in reader.pages]
    assert all("Number" in page and "Words" in page for page in pages)
    assert pages[0].count("Rows") == 1 and "Rows, continued" in pages[1]
    numbers = [int(n) for page in pages for n in re.findall(r"row (\d+) x", page)]
    assert numbers == list(range(400))


def test_no_row_that_fits_a_page_is_torn():
    reader = sheet(Ruled([Column(1, "No."), Column(5, "Words")], [[f"<{n}>", "\n".join(f"{n}.{k}" for k in range(7))] for n in range(60)]))
    for page in reader.pages:
        words = page.extract_text()
        for n in re.findall(r"<(\d+)>", words):
            assert f"{n}.0" in words and f"{n}.6" in words


@pytest.mark.parametrize("rows", [[], [[None, None]], [["", ""]]])
def test_nothing_and_none_make_a_sheet_too(rows):
    assert len(sheet(Ruled([Column(1, "A"), Column(1, "B")], rows, title="Empty"), text(None), text("")).pages) == 1
    assert len(PdfReader(io.BytesIO(make_pdf([(Head("Nothing"), [])]))).pages) == 1


@pytest.mark.parametrize("paper, size", [("A4", (595, 842)), ("Letter", (612, 792))])
def test_pages_have_the_paper_asked_for_and_may_lie(paper, size):
    reader = sheet(text("a"), NewPage(is_lying=True), text("b"), NewPage(), text("c"), paper=paper)
    sizes = [(round(page.mediabox.width), round(page.mediabox.height)) for page in reader.pages]
    assert sizes == [size, size[::-1], size]
    assert "page 2 of 3" in reader.pages[1].extract_text()


def test_page_counts_run_within_each_paper_of_a_batch():
    papers = [(Head("S", f"W-{n}"), [Ruled([Column()], [["x"]] * rows)]) for n, rows in enumerate((1, 90, 1))]
    words = [page.extract_text() for page in PdfReader(io.BytesIO(make_pdf(papers))).pages]
    assert [re.search(r"page \d of \d", page)[0] for page in words] == ["page 1 of 1", "page 1 of 2", "page 2 of 2", "page 1 of 1"]


def test_same_input_gives_the_same_bytes():
    def again() -> bytes:
        return make_pdf([(Head("S", "W-1", "x", "", "W-1"), [text(SIGNS), Ruled([Column(1, "A")], [["b"]] * 99)])])

    assert again() == again()


def test_every_sign_is_drawn_inside_the_page():
    spots = []
    reader = sheet(Ruled([Column(1, "A"), Column(1, "B", "right")], [["w" * 300, "W" * 300]] * 9, title="T" * 30), text("w" * 500, size=14))
    for page in reader.pages:
        page.extract_text(
            visitor_text=lambda words, cm, tm, font, size: (
                spots.append((tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5])) if words.strip() else None
            )
        )
    assert spots and all(0 < x < 595 and 0 < y < 842 for x, y in spots)


@pytest.mark.parametrize("words, width", [("one two three", 30.0), ("w" * 100, 50.0), ("a b c d", 1.0), ("", 50.0)])
def test_lines_are_no_wider_than_asked_unless_one_sign_is(words, width):
    from shop.printing.letters import width_of

    lines = wrapped(words, "Shop", 9.0, width)
    assert "".join("".join(lines).split()) == "".join(words.split())
    assert all(width_of(line, "Shop") * 9 <= width + 1e-6 or len(line) == 1 for line in lines)


def test_the_square_code_says_the_number():
    side, stretches = code_squares("W-00042")
    assert side == 21
    dark = {(row, column + k) for row, column, length in stretches for k in range(length)}
    finder = {(0, k) for k in range(7)} | {(6, k) for k in range(7)} | {(k, 0) for k in range(7)} | {(k, 6) for k in range(7)}
    assert finder <= dark and not {(7, k) for k in range(8)} & dark
    assert all(a != b for a, b in pairwise(stretches))


def test_only_words_are_drawn_in_the_fonts_that_lie_with_the_program():
    fonts = {
        font.get_object()["/BaseFont"]
        for page in sheet(text(SIGNS), text("b", bold=True)).pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert {name for name in fonts if "DejaVu" in name} and all("+" in name or "Helvetica" in name for name in fonts)
