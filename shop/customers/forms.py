"""Forms of customers, their places and the people there."""

from django import forms

from calcs.figures import NumberRefused, read_number
from fleet.models import Contact, Customer, Site
from shop.editing import RecordForm
from shop.lists import FilterForm


class CustomerFilter(FilterForm):
    q = forms.CharField(label="Name or number", max_length=80)
    with_retired = forms.BooleanField(label="Retired ones too")


class MoneyField(forms.CharField):
    """Money as people write it; kept in whole cents."""

    def __init__(self, **kwargs):
        super().__init__(max_length=20, required=False, widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "figure"}), **kwargs)

    def prepare_value(self, value):
        return f"{value / 100:.2f}" if isinstance(value, int) else value

    def clean(self, value):
        typed = super().clean(value)
        if not typed:
            return None
        try:
            cents = round(read_number(typed) * 100)
        except NumberRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal
        if not 0 <= cents <= 100_000_000_00:
            raise forms.ValidationError(f"{typed} cannot be a sum of money here.")
        return cents


class CustomerForm(RecordForm):
    stop_cost_per_hour_cents = MoneyField(
        label="What an hour's stop in season costs", help_text="Used to weigh a repair; leave empty if not known"
    )

    class Meta:
        model = Customer
        fields = ("name", "phone", "preferred_channel", "invoice_address", "agrees_to_photos", "stop_cost_per_hour_cents", "note")
        labels = {"agrees_to_photos": "Agrees to photos of machines", "preferred_channel": "Reach by"}


class SiteForm(RecordForm):
    class Meta:
        model = Site
        fields = ("name", "address", "region", "gate_notes", "drive_minutes")
        labels = {"drive_minutes": "Minutes of travel, one way", "gate_notes": "Gate and yard notes"}

    def clean_name(self):
        name = self.cleaned_data["name"]
        if self.instance.customer.sites.filter(name=name).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError(f"{self.instance.customer} already has a site named {name}.")
        return name


class ContactForm(RecordForm):
    approval_limit_cents = MoneyField(
        label="May approve up to", help_text="Only for people who may approve; empty means no limit is agreed"
    )

    class Meta:
        model = Contact
        fields = ("name", "phone", "mail", "may_approve", "approval_limit_cents", "is_retired")
        labels = {"mail": "E-mail", "may_approve": "May approve work", "is_retired": "No longer there"}

    def clean(self):
        given = super().clean()
        if given.get("approval_limit_cents") is not None and not given.get("may_approve"):
            self.add_error("approval_limit_cents", "A limit is only for people who may approve: tick that, or leave this empty.")
        return given
