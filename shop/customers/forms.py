"""Forms of customers, their places and the people there."""

from django import forms

from fleet.models import Contact, Customer, Site
from shop.editing import RecordForm
from shop.lists import FilterForm
from shop.money import MoneyField


class CustomerFilter(FilterForm):
    q = forms.CharField(label="Name or number", max_length=80)
    with_retired = forms.BooleanField(label="Retired ones too")


class CustomerForm(RecordForm):
    stop_cost_per_hour_cents = MoneyField(
        required=False, label="What an hour's stop in season costs", help_text="Used to weigh a repair; leave empty if not known"
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
        required=False, label="May approve up to", help_text="Only for people who may approve; empty means no limit is agreed"
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
