"""A choice among very many is written as a template would write it: every option once, the chosen one marked, signs escaped."""

import re

from django import forms

from shop.lists import LongSelect


def options(html: str) -> list[tuple[str, bool, str]]:
    return [(value, bool(mark), words) for value, mark, words in re.findall(r'<option value="([^"]*)"( selected)?>([^<]*)</option>', html)]


def test_a_long_choice_says_what_the_usual_one_says():
    choices = [("", "All"), (1, "Farm & Sons"), (2, '<b>"Two"</b>')]
    for chosen in ("", 2, "2", None, "zz"):
        ours = LongSelect(choices=choices).render("customer", chosen, {"id": "id_customer"})
        theirs = forms.Select(choices=choices).render("customer", chosen, {"id": "id_customer"})
        assert options(ours) == options(theirs)
        assert len(options(ours)) == 3
        assert ours.startswith('<select id="id_customer" name="customer">')
