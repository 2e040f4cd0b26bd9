"""Forms of an order on the bench: its story, lines, moves, hours of work, failure."""

from django import forms
from django.utils import timezone

from fleet.models import Failure
from shop.checked_fields import DayField
from shop.editing import RecordForm
from shop.forms_base import ActForm
from shop.models import HeldPart, LabourEntry, OrderLine, Part, ServiceTask, Technician, WorkOrder
from shop.money import MoneyField
from shop.workorders.comebacks import likely_comebacks

NOT_A_COMEBACK = "no"


class ComebackForm:
    """The question whether the same drive is back with the same complaint; shown only where the record says that it may be."""

    def ask_comeback(self, unit, symptom, at, life_h=None, leaving_out=None):
        found = list(likely_comebacks(unit, symptom, at, life_h, leaving_out)[:5])
        if not found:
            del self.fields["comeback"], self.fields["comeback_answer"]
            return
        choices = [
            (str(order.pk), f"Yes, of {order.number}, released {order.released_at:%-d %b %Y}: {order.correction[:60]}") for order in found
        ]
        self.fields["comeback"].choices = [("", "–"), *choices, (NOT_A_COMEBACK, "No, it is something new")]

    def clean_comeback_answer(self):
        answer = self.cleaned_data.get("comeback_answer", "").strip()
        if not self.cleaned_data.get("comeback"):
            raise forms.ValidationError("The same drive was here with the same symptom not long ago: say whether this is a comeback.")
        if not answer:
            raise forms.ValidationError("Say in a few words how you know.")
        return answer

    def comeback_fields(self) -> dict:
        picked = self.cleaned_data.get("comeback")
        if not picked:
            return {}
        of = None if picked == NOT_A_COMEBACK else WorkOrder.objects.get(pk=int(picked))
        return {"comeback_of": of, "comeback_answer": self.cleaned_data["comeback_answer"]}


class StoryForm(ComebackForm, RecordForm):
    promised_on = DayField(label="Promised for", required=False)
    comeback = forms.ChoiceField(label="Is this a comeback?", required=False)
    comeback_answer = forms.CharField(label="How you know", max_length=200, required=False)

    class Meta:
        model = WorkOrder
        fields = ["complaint", "symptom", "cause", "correction", "promised_on", "is_warranty", "caller"]
        labels = {
            "complaint": "Complaint, in the caller's words",
            "symptom": "Symptom",
            "cause": "Cause",
            "correction": "Correction",
            "is_warranty": "On warranty",
            "caller": "Who called, how to reach them",
        }
        help_texts = {
            "cause": "“Not found, because …” is an answer; nothing is not.",
            "correction": "What was done, with settings before and after.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        order = self.instance
        symptom = self.data.get("symptom", order.symptom) if self.is_bound else order.symptom
        if order.comeback_answer:
            del self.fields["comeback"], self.fields["comeback_answer"]
        else:
            self.ask_comeback(order.unit, symptom, order.taken_in_at, order.life_h, leaving_out=order)


class LineForm(ActForm):
    kind = forms.ChoiceField(label="Kind", choices=OrderLine.Kind)
    task = forms.ModelChoiceField(
        ServiceTask.objects.filter(is_retired=False), label="Task", required=False, help_text="Brings the parts of its kit"
    )
    part = forms.ModelChoiceField(
        Part.objects.all(), label="Part", required=False, help_text="Brings its price and the number that is ordered today"
    )
    words = forms.CharField(label="In words", max_length=300, required=False, help_text="Needed where neither task nor part is picked")
    quantity = forms.DecimalField(label="How many, or hours", max_digits=9, decimal_places=2, min_value=0.01, initial=1)
    price_each_cents = MoneyField(label="Price each", required=False)
    urgency = forms.ChoiceField(label="When", choices=OrderLine.Urgency)
    evidence = forms.CharField(
        label="Because", max_length=400, required=False, help_text="The reading or finding that calls for it: the customer reads this"
    )

    def clean(self):
        given = super().clean()
        if not (given.get("words") or given.get("task") or given.get("part")):
            self.add_error("words", "Write what is to be done, or pick a task or a part.")
        return given

    def line_fields(self) -> dict:
        given = {name: value for name, value in self.cleaned_data.items() if name != "token"}
        given["price_each_cents"] = given["price_each_cents"] or 0
        return given


class ChangeLineForm(RecordForm):
    price_each_cents = MoneyField(label="Price each", required=False)

    class Meta:
        model = OrderLine
        fields = ["words", "quantity", "price_each_cents", "urgency", "evidence", "state", "why_not"]
        labels = {
            "words": "In words",
            "quantity": "How many, or hours",
            "urgency": "When",
            "evidence": "Because",
            "why_not": "Not done, because",
        }

    def clean_price_each_cents(self):
        return self.cleaned_data["price_each_cents"] or 0

    def _post_clean(self):
        if self.cleaned_data.get("state") == OrderLine.State.NOT_DONE and not self.cleaned_data.get("why_not"):
            self.add_error("why_not", "Write why it is not done, so that the next person knows.")
        super()._post_clean()


class MoveForm(ActForm):
    version = forms.IntegerField(widget=forms.HiddenInput)
    to = forms.ChoiceField(choices=WorkOrder.State, widget=forms.HiddenInput)
    reason = forms.CharField(label="Why", max_length=200, required=False)


class ClockForm(ActForm):
    technician = forms.ModelChoiceField(Technician.objects.filter(is_retired=False), label="Who")
    kind = forms.ChoiceField(label="Kind of work", choices=LabourEntry.Kind)


class HoursOfWorkForm(ClockForm):
    day = DayField(label="Day", ahead_days=0)
    begun = forms.TimeField(label="From", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    ended = forms.TimeField(label="To", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    note = forms.CharField(label="Remark", max_length=200, required=False)

    def moments(self):
        day = self.cleaned_data["day"]
        return tuple(timezone.make_aware(timezone.datetime.combine(day, self.cleaned_data[name])) for name in ("begun", "ended"))


class FailureForm(RecordForm):
    happened_on = DayField(label="When it failed", ahead_days=0)

    class Meta:
        model = Failure
        fields = ["mode", "mechanism", "cause", "detected_by", "severity", "evidence", "is_secondary", "has_debris", "remedy", "crop"]
        help_texts = {
            "mechanism": "“Not known” is an answer and is counted as such.",
            "has_debris": "Puts the lines that clean the system out; they cannot be left open.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("mechanism", "cause", "detected_by"):
            self.fields[name].required = False


class HeldPartForm(ActForm):
    kind = forms.ChoiceField(label="Kept as", choices=HeldPart.Kind)
    words = forms.CharField(label="What it is, with serial", max_length=200)
    place = forms.CharField(label="Kept at", max_length=60, required=False)
    core_cents = MoneyField(label="Core charge", required=False)


class SettleForm(ActForm):
    words = forms.CharField(label="How it was settled", max_length=200)


class SupersedeForm(ActForm):
    reason = forms.CharField(label="What was wrong", max_length=300, help_text="Stands on both orders for good")


class StockLineForm(ActForm):
    quantity = forms.DecimalField(label="How many", max_digits=9, decimal_places=2, min_value=0.01)
