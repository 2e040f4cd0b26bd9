"""Every page of a full shop whose every text is markup: words stay words, doors stay shut, looking changes nothing, and the database is asked little."""

from html.parser import HTMLParser

import pytest

from shop.keeping.tables import kept_models
from shop.models import ChangeEntry
from tests.records.pages.stock import empty_models, models_of_ours, typed_fields
from tests.records.replaying import differences

pytestmark = pytest.mark.django_db
MOST_QUESTIONS = 30  # whoever signs in included; once a minute the session is noted besides


class Opened(HTMLParser):
    """What a browser would open in a page: elements and their attributes."""

    def __init__(self, text: str):
        super().__init__()
        self.elements = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))


def dangers(page) -> list[str]:
    """Return what in a page could run, restyle, or lead away."""
    found = []
    for tag, given in Opened(page.text).elements:
        found += [tag] if tag in {"zz-canary", "i", "iframe", "style", "base", "object", "embed"} else []
        found += ["inline script"] if tag == "script" and "src" not in given and given.get("type") != "application/json" else []
        found += [f"{tag} {name}" for name in given if name.startswith("on") or name == "style" or (tag == "meta" and name == "http-equiv")]
        for name in ("href", "src", "action", "formaction", "xlink:href"):
            address = (given.get(name) or "").strip().lower()
            inside = address.startswith(("/", "#", "?", "")) and not address.startswith(("//", "javascript:", "data:text", "http"))
            found += [] if inside else [f"{tag} leads to {address}"]
    return found


def test_there_is_a_row_of_every_kind(full_shop):
    assert empty_models() == []
    taken, left = full_shop.poisoned
    assert left == []
    assert taken == sum(len(typed_fields(model)) for model in models_of_ours()) > 100


def test_every_page_that_can_be_opened_was_opened(walk):
    seen, _, _ = walk
    assert {page.address: page.status for page in seen if page.status not in (200, 302, 404, 405, 409, 410)} == {}
    found = {page.name for page in seen if page.status != 404}
    assert {page.name for page in seen} - found == set()
    assert sum(page.status == 200 for page in seen) > 100


def test_no_piece_of_markup_is_taken_for_markup(walk):
    assert {page.address: dangers(page) for page in walk[0] if page.is_page and dangers(page)} == {}


def test_the_probe_for_markup_bites():
    from tests.records.pages.conftest import Seen

    for words in ("<zz-canary>", "<b onclick=x>", "<script>x</script>", "<a href=javascript:x>", "<p style=x>", "<a href=//zz.example>"):
        assert dangers(Seen("", "", 200, {}, words.encode(), 0)), words


def test_every_answer_shuts_the_browsers_doors(walk):
    wrong = []
    for page in walk[0]:
        policy = page.headers.get("Content-Security-Policy", "")
        shut = ("default-src 'none'", "unsafe-") if "sandbox" in policy else ("object-src 'none'", "unsafe-")
        if shut[0] not in policy or shut[1] in policy or "frame-ancestors 'none'" not in policy and "sandbox" not in policy:
            wrong.append(f"{page.address}: {policy}")
        if page.headers.get("X-Content-Type-Options") != "nosniff" or page.headers.get("Referrer-Policy") != "same-origin":
            wrong.append(page.address)
        if "no-store" not in page.headers.get("Cache-Control", "") or "private" not in page.headers["Cache-Control"]:
            wrong.append(f"{page.address} may be kept by a cache")
    assert wrong == []


def test_looking_at_every_page_changes_nothing(walk):
    _, before, after = walk
    assert after == before


def test_no_page_asks_the_database_more_than_a_little(walk):
    one_a_table = ("/take-out/",)  # the whole book is taken out
    many = {page.address: page.questions for page in walk[0] if page.questions > MOST_QUESTIONS}
    assert {address: count for address, count in many.items() if not address.startswith(one_a_table)} == {}


def test_the_record_played_back_from_nothing_gives_every_table_as_it_is(full_shop):
    assert differences() == []
    assert ChangeEntry.objects.count() > 10_000 and len(kept_models()) > 50
