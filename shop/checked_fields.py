"""Boxes for days, codes and names; one sentence says why what was written cannot be."""

import re
from datetime import date, timedelta

from django import forms
from django.utils import timezone

from shop.editing import DayInput

CODE = re.compile(r"[^\W\d_][\w .\-]*")
EARLIEST = date(1970, 1, 1)
FIRST_DRIVES = date(1940, 1, 1)  # no machine in the book is older
FURTHEST_DAYS = 3 * 366  # nobody plans further: a shop rule


class DayField(forms.DateField):
    """A day not before hour meters, and not so far ahead that the year must be a slip."""

    def __init__(self, *, earliest: date = EARLIEST, ahead_days: int = FURTHEST_DAYS, **kwargs):
        self.earliest, self.ahead_days = earliest, ahead_days
        super().__init__(widget=DayInput(), **kwargs)

    def clean(self, value):
        day = super().clean(value)
        if day is None:
            return None
        last = timezone.localdate() + timedelta(days=self.ahead_days)
        if day > last and self.ahead_days <= 1:
            raise forms.ValidationError(f"{day} lies in the future: write the day it happened.")
        if day > last:
            raise forms.ValidationError(f"{day} lies too far ahead: check the year; {last} is the last day that is taken.")
        if day < self.earliest:
            raise forms.ValidationError(f"{day} lies too far back: check the year; {self.earliest} is the first day that is taken.")
        return day


def checked_code(form: forms.Form) -> str:
    """Return a code that begins with a letter, so that no figure or sign passes for one, and that no other record has in other letters."""
    code = form.cleaned_data["code"].strip()
    if not CODE.fullmatch(code):
        raise forms.ValidationError(
            f'"{code}" is no code: begin with a letter, then letters, digits, spaces, dashes or points, such as GAUGE-2.'
        )
    twin = type(form.instance)._base_manager.filter(code__iexact=code).exclude(pk=form.instance.pk).first()
    if twin is not None:
        raise forms.ValidationError(f"{twin} has this code already: write another one.")
    return code


def checked_name(form: forms.Form, field: str = "name") -> str:
    """Return a name that holds at least one letter."""
    name = form.cleaned_data[field].strip()
    if not any(sign.isalpha() for sign in name):
        raise forms.ValidationError(f'"{name}" has no letter in it: write it as people say it.')
    return name


class NamedForm:
    """What looks at `code` and `name` of a form that has them; stands before the form it joins."""

    def clean_code(self):
        return checked_code(self)

    def clean_name(self):
        return checked_name(self)


def refuse_backwards(form: forms.Form, first: str, last: str) -> None:
    """Say on the last day of a stretch that it lies before the first."""
    given = form.cleaned_data
    if given.get(first) and given.get(last) and given[last] < given[first]:
        form.add_error(last, f"{given[last]} is before the first day, {given[first]}: turn them round, or check the year.")
