"""Forms of the parts counter."""

from decimal import Decimal

from django import forms

from shop.editing import RecordForm
from shop.forms_base import ActForm
from shop.models import KitItem, Part
from shop.money import MoneyField


class PartForm(RecordForm):
    price_cents = MoneyField(label="Price")
    core_charge_cents = MoneyField(label="Core charge", required=False)

    class Meta:
        model = Part
        fields = ["number", "name", "unit", "bin", "lead_days", "shelf_months", "price_cents", "core_charge_cents", "superseded_by"]
        labels = {"superseded_by": "Followed by", "lead_days": "Lead time, days", "shelf_months": "Good on the shelf for, months"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["superseded_by"].queryset = Part.objects.exclude(pk=self.instance.pk)

    def clean_core_charge_cents(self):
        return self.cleaned_data["core_charge_cents"] or 0

    def clean_superseded_by(self):
        following, seen = self.cleaned_data["superseded_by"], set()
        while following is not None and following.pk not in seen:
            if following.pk == self.instance.pk:
                raise forms.ValidationError("These numbers would follow one another in a circle.")
            seen.add(following.pk)
            following = following.superseded_by
        return self.cleaned_data["superseded_by"]


class StockForm(ActForm):
    quantity = forms.DecimalField(label="How many", max_digits=9, decimal_places=2, min_value=Decimal("0.01"))
    note = forms.CharField(label="Remark", max_length=200, required=False)


class CountForm(StockForm):
    quantity = forms.DecimalField(label="How many lie in the bin", max_digits=9, decimal_places=2, min_value=0)


class KitForm(RecordForm):
    class Meta:
        model = KitItem
        fields = ["task", "drive_model", "part", "quantity"]
        help_texts = {"drive_model": "Blank where it holds for every model"}
