"""Forms at the desk: approval and release."""

from decimal import Decimal

from django import forms
from django.utils import timezone

from fleet.models import Contact, DriveUnit, FluidFill, FluidProduct, Installation, UnitEvent
from shop.forms_base import ActForm
from shop.models import Approval, OrderLine, WorkOrder
from shop.money import MoneyField
from shop.workorders.release import ReleaseEntry, final_test_of, hours_since
from shop.workorders.totals import line_cents, spoken_money


class ApprovalForm(ActForm):
    lines = forms.ModelMultipleChoiceField(OrderLine.objects.none(), label="Approved", widget=forms.CheckboxSelectMultiple, required=False)
    contact = forms.ModelChoiceField(Contact.objects.none(), label="Who said so")
    channel = forms.ChoiceField(label="How", choices=Approval.Channel)
    limit_cents = MoneyField(label="Up to what sum")
    words = forms.CharField(
        label="Exact words", widget=forms.Textarea, max_length=4000, help_text="As said or written; they are kept as they are"
    )
    refused = forms.ModelMultipleChoiceField(OrderLine.objects.none(), label="Refused", widget=forms.CheckboxSelectMultiple, required=False)

    def __init__(self, *args, order, **kwargs):
        super().__init__(*args, **kwargs)
        self.order = order
        self.fields["contact"].queryset = order.customer.contacts.filter(is_retired=False)
        for name in ("lines", "refused"):
            self.fields[name].queryset = order.lines.exclude(state=OrderLine.State.NOT_DONE)
            self.fields[name].label_from_instance = lambda line: (
                f"{line.words} · {spoken_money(line_cents(line))} · {line.get_urgency_display()}"
            )

    def approval_fields(self) -> dict:
        given = {name: value for name, value in self.cleaned_data.items() if name != "token"}
        return given | {"given_at": timezone.now()}


class ReleaseForm(ActForm):
    version = forms.IntegerField(widget=forms.HiddenInput)
    meter_h = forms.DecimalField(label="Hour meter now", max_digits=9, decimal_places=1, min_value=0, required=False)
    hours_are_kept = forms.BooleanField(label="The meter stands there although it looks odd", required=False)
    fitness = forms.ChoiceField(label="Safe to work", choices=[("", "–"), *WorkOrder.Fitness.choices], required=False)
    test_waiver = forms.CharField(label="No final test, because", max_length=200, required=False, help_text="Your name stands under it")
    fill_kind = forms.ChoiceField(label="Oil", choices=[("", "None filled"), *FluidFill.Kind.choices], required=False)
    fill_product = forms.ModelChoiceField(FluidProduct.objects.filter(is_retired=False), label="Product", required=False)
    fill_l = forms.DecimalField(label="Litres in", max_digits=7, decimal_places=2, min_value=0, required=False)
    drained_l = forms.DecimalField(label="Litres out", max_digits=7, decimal_places=2, min_value=0, required=False)
    batch = forms.CharField(label="Batch", max_length=40, required=False)
    taken_out = forms.ModelChoiceField(Installation.objects.none(), label="Drive taken out", required=False)
    keeping = forms.ChoiceField(label="It goes", choices=[("", "–"), *DriveUnit.Keeping.choices], required=False)
    fitted = forms.ModelChoiceField(DriveUnit.objects.none(), label="Drive fitted", required=False)
    position = forms.ChoiceField(label="Where", choices=[("", "–"), *Installation.Position.choices], required=False)
    baseline = forms.ChoiceField(
        label="The drive begins anew in its trends",
        required=False,
        choices=[("", "No"), (UnitEvent.Kind.REPAIRED, "Yes, it was repaired"), (UnitEvent.Kind.REBUILT, "Yes, it was rebuilt")],
    )
    cautions_read = forms.BooleanField(label="I have read the cautions above", required=False)
    next_due_told = forms.BooleanField(label="I have seen what is due next, and the customer knows", required=False)
    remark = forms.CharField(label="Remark", max_length=300, required=False)

    def __init__(self, *args, order, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["version"].initial = order.version
        self.fields["taken_out"].queryset = order.machine.installations.running().select_related("unit")
        self.fields["fitted"].queryset = DriveUnit.objects.exclude(installations__to_date=None, installations__isnull=False).exclude(
            keeping="scrapped"
        )
        if final_test_of(order) or not order.unit:
            self.fields["test_waiver"].help_text = (
                "Not needed: a test after the repair is on record" if order.unit else "No drive is named on this order"
            )
        if hours_since(order):
            self.fields["meter_h"].help_text = f"Read since intake: {hours_since(order).meter_h} h; write it again only if it moved on"

    def clean(self):
        given = super().clean()
        if given.get("fill_kind") and not (given.get("fill_l") or given.get("drained_l")):
            self.add_error("fill_l", "Write how many litres went in or came out.")
        if given.get("fill_kind") == FluidFill.Kind.TOP_UP and given.get("drained_l"):
            self.add_error("drained_l", "A top-up drains nothing: call it a change.")
        if given.get("fitted") and not given.get("position"):
            self.add_error("position", "Say where the drive was fitted.")
        return given

    def said(self) -> ReleaseEntry:
        given, names = self.cleaned_data, ReleaseEntry.__dataclass_fields__
        return ReleaseEntry(**{name: given[name] for name in names if name in given}, fills=self.fills())

    def fills(self) -> list[dict]:
        given = self.cleaned_data
        if not given.get("fill_kind"):
            return []
        litres = {name: given.get(name) or Decimal(0) for name in ("fill_l", "drained_l")}
        return [{"kind": given["fill_kind"], "product": given.get("fill_product"), "batch": given.get("batch", "")} | litres]
