"""Filters of the list of tests."""

from django import forms

from shop.lists import FilterForm


class OpenTestFilter(FilterForm):
    q = forms.CharField(label="Test, drive or machine", max_length=60)
    only_open = forms.BooleanField(label="Only in progress")
