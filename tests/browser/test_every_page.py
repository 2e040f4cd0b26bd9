"""Every page that a manager may open, in a real browser at phone and desk size: quiet, keeping to itself, inside its sheet, and open to everybody.

What axe looks for is its default list and, beside it, target-size (WCAG 2.2, success criterion 2.5.8). Contrast is worked out from the stylesheet
alone, after WCAG 2.2: relative luminance and contrast ratio as defined there; 4.5 for text (1.4.3), 3 for the edges of boxes and axes (1.4.11).
"""

import re
from pathlib import Path

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from django.contrib.auth import get_user_model
from playwright.sync_api import Error

from tests.browser.addresses import Walk
from tests.browser.conftest import SIZES

ROOT = Path(__file__).resolve().parents[2]
SHEET = (ROOT / "shop/static/shop/shop.css").read_text()
LOOK_FOR = {"rules": {"target-size": {"enabled": True}}, "resultTypes": ["violations"]}
NO_PAGE = (302, 405)  # leads elsewhere, or is there to be sent to
SEEN_BY_NOBODY = {"health"}  # asked by programs
EMPTY_IN_THE_DEMO = {"plan_run", "booking", "move_booking", "calendar_feed"}  # nothing is planned yet; the round of the plan opens these
INKS = ("ink", "soft", "blue", "bad", "doubt", "good")
EDGES = ("rule-strong",)
GROUNDS = ("paper", "leaf", "wash")


@pytest.fixture
def rows_of_every_kind(demo_shop, page, sign_in, settings, tmp_path):
    """The demo, and what a person must do first before some pages have anything to show: a file brought, a test opened, a photo and a tag."""
    settings.MEDIA_ROOT = tmp_path
    go = sign_in(get_user_model().objects.get(username="marta"))
    go("/imports/")
    page.set_input_files("input[type=file]", ROOT / "fixtures/import/readings_bad.csv")
    page.get_by_role("button", name="Look at it").click()
    go("/drives/24/test/")
    page.get_by_role("button", name="Open the test").click()
    go("/papers/order/22/new/")
    page.set_input_files("input[type=file]", ROOT / "fixtures/import/lab_report.csv")
    page.get_by_role("button", name="Keep them").click()
    go("/orders/line/31/tag/")
    page.get_by_role("button", name="Save").click()
    return go


def wrong_with(page, size: str) -> list[str]:
    page.set_viewport_size(SIZES[size])
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    aside = page.evaluate("""
        [...document.querySelectorAll('main .sheet')].filter(one => one.scrollWidth > one.clientWidth + 1).map(one => one.innerText.slice(0, 40))
    """)
    found = [f"{wide} px out of the side at {size} size"] if wide > 0 else []
    return found + ([f"a list scrolls sideways at {size} size: {aside}"] if aside and size == "phone" else [])


def told_by_axe(page) -> list[str]:
    page.evaluate(AXE_SCRIPT)
    broken = page.evaluate("options => axe.run(options).then(found => found.violations)", LOOK_FOR)
    return [f"{rule['id']}: {node['html'][:120]}" for rule in broken for node in rule["nodes"][:3]]


def open_at(page, address: str):
    """Open an address; a file to keep is only asked for, since the browser shows none."""
    try:
        return page.goto(address)
    except Error:
        return page.request.head(address)


def look_at(page, walk: Walk) -> list[str]:
    """Look at the open page at both sizes, take in its links, and return what is wrong with it."""
    for link in page.evaluate(
        "[...document.querySelectorAll('a[href], form[action]')].map(one => one.getAttribute('href') || one.getAttribute('action'))"
    ):
        walk.meet(link)
    found = wrong_with(page, "phone") + told_by_axe(page) + wrong_with(page, "desk")
    page.set_viewport_size(SIZES["phone"])
    return found


@pytest.mark.django_db(transaction=True)
def test_every_page_is_quiet_keeps_to_itself_stays_in_its_sheet_and_passes_axe(rows_of_every_kind, page, complaints, live_server):
    walk, wrong, seen = Walk(), {}, 0
    page.set_viewport_size(SIZES["phone"])
    for address in walk:
        answer = open_at(page, f"{live_server.url}{address}")
        found = [] if answer.status in (200, *NO_PAGE) else [f"answered {answer.status}"]
        if answer.status == 200 and answer.headers["content-type"].startswith("text/html"):
            found = look_at(page, walk) + complaints
            seen += 1
        complaints.clear()
        wrong |= {address: found} if found else {}
    assert wrong == {}
    left_out = SEEN_BY_NOBODY | EMPTY_IN_THE_DEMO
    unmet = {name: address for name, address in walk.unmet().items() if name not in left_out}
    answers = {name: page.request.get(f"{live_server.url}{address}", max_redirects=0).status for name, address in unmet.items()}
    assert {name: status for name, status in answers.items() if status not in NO_PAGE} == {}, "no page leads to these"
    assert seen > 100


def test_axe_bites_on_a_bad_page(page):
    page.set_content("""<html><head><title>Bad</title></head><body><main>
        <img src="data:,"><input name="speed"><p style="color:#bbb">pale</p><table><tr><th></th></tr></table>
        <a href="#a" style="display:inline-block;width:9px;height:9px">a</a><a href="#b" style="display:inline-block;width:9px;height:9px">b</a>
        </main></body></html>""")
    rules = {line.split(":")[0] for line in told_by_axe(page)}
    assert {"image-alt", "label", "color-contrast", "html-has-lang", "target-size", "empty-table-header"} <= rules


def inks_of(scheme: str) -> dict[str, str]:
    """Return the colours of the stylesheet by name, as a bright or a dark screen shows them."""
    block = SHEET[SHEET.index(":root {") : SHEET.index("@media (prefers-contrast")]
    pairs = re.findall(r"--([\w-]+): light-dark\((#\w+), (#\w+)\)", block)
    return {name: light if scheme == "light" else dark for name, light, dark in pairs}


def luminance(colour: str) -> float:
    shares = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    bright, dim = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


def test_contrast_is_worked_out_as_wcag_defines_it():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)  # WebAIM's example of a grey that just passes, from memory
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_ink_stands_out_from_every_ground(scheme):
    colours = inks_of(scheme)
    pale = {f"{ink} on {ground}": round(contrast(colours[ink], colours[ground]), 2) for ink in INKS for ground in GROUNDS}
    assert {pair: ratio for pair, ratio in pale.items() if ratio < 4.5} == {}
    edges = {f"{edge} on {ground}": round(contrast(colours[edge], colours[ground]), 2) for edge in EDGES for ground in GROUNDS[:2]}
    assert {pair: ratio for pair, ratio in edges.items() if ratio < 3} == {}


def test_charts_and_rooms_use_the_named_inks_alone():
    after = SHEET[SHEET.index("@media (prefers-contrast") : SHEET.index("@layer print {")]
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b", after) == []
    used = set(re.findall(r"svg\.chart[^{]*\{[^}]*?(?:fill|stroke): var\(--([\w-]+)\)", after))
    assert used <= {*INKS, *EDGES, *GROUNDS, "rule"}
