"""Filters of the wear pages."""

from django import forms

from calcs.quantities import QUANTITIES
from calcs.wear_limits import WORN_RATIO
from fleet.models import Customer, DriveModel, WearState
from shop.lists import FilterForm, any_of


class WearFilter(FilterForm):
    customer = forms.ModelChoiceField(Customer.objects.all(), label="Customer", empty_label="All")
    drive_model = forms.ModelChoiceField(DriveModel.objects.all(), label="Drive model", empty_label="All")
    state = forms.ChoiceField(choices=any_of(WearState.State.choices), label="State")


FIRST_SHOWN = "pump_case_flow"


class SideBySideFilter(FilterForm):
    quantity = forms.ChoiceField(
        choices=sorted(((code, QUANTITIES[code].label) for code in WORN_RATIO), key=lambda pair: pair[0] != FIRST_SHOWN), label="Reading"
    )
