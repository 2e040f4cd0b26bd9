"""The call: asked in the order in which it matters, the safety of people first."""

from django import forms
from django.utils import timezone

from fleet.models import DriveUnit, Failure
from shop.checked_fields import DayField
from shop.forms_base import ActForm
from shop.workorders.forms import ComebackForm
from shop.workorders.intake import HOSPITAL, NO_TOWING, QUESTIONS

YES_NO = (("no", "No"), ("yes", "Yes, or perhaps"))
STANDS = (("", "–"), ("yes", "Yes"), ("no", "No"), ("not known", "Not known"))
MOVES = (("", "–"), ("yes", "Yes"), ("no", "No"), ("barely", "Barely"), ("not known", "Not known"))
SENSE = {"direction": ("", "both", "forward only", "reverse only", "not known"), "load": ("", "loaded", "empty", "both", "not known")}


class IntakeForm(ComebackForm, ActForm):
    caller = forms.CharField(label="Who calls, and how to reach them", max_length=160)
    hours_said = forms.CharField(label="Hours now, as said", max_length=30, required=False)
    hurt = forms.ChoiceField(label=QUESTIONS[0][1], choices=YES_NO, widget=forms.RadioSelect)
    looked_after = forms.BooleanField(label="Everybody who may be hurt is on the way to a hospital", required=False)
    safe = forms.ChoiceField(label="Does it stand safely?", choices=STANDS)
    moves = forms.ChoiceField(label="Can it move?", choices=MOVES, help_text=NO_TOWING)
    unit = forms.ModelChoiceField(None, label="Which drive", required=False)
    complaint = forms.CharField(label="Complaint, in the caller's words", widget=forms.Textarea, max_length=20_000)
    symptom = forms.ChoiceField(label="Nearest symptom", choices=[("", "–"), *Failure.Mode.choices], required=False)
    comeback = forms.ChoiceField(label="Is this a comeback?", required=False)
    comeback_answer = forms.CharField(label="How you know", max_length=200, required=False)
    started = forms.CharField(label="When did it start?", max_length=120, required=False)
    manner = forms.CharField(label="Cold or hot, suddenly or slowly?", max_length=120, required=False)
    direction = forms.ChoiceField(label="One direction or both?", choices=[(w, w or "–") for w in SENSE["direction"]], required=False)
    load = forms.ChoiceField(label="Loaded or empty?", choices=[(w, w or "–") for w in SENSE["load"]], required=False)
    noise = forms.CharField(label="Any noise?", max_length=120, required=False)
    lamps = forms.CharField(label="Warning lamps and fault codes, as shown", max_length=200, required=False)
    last_month = forms.CharField(
        label="What was done in the last month?", max_length=300, required=False, help_text="Top-up, filter, hose, another shop"
    )
    oil = forms.CharField(label="Oil: level, colour, foam, smell, leak", max_length=200, required=False)
    promised_on = DayField(label="Wanted by", required=False)

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine = machine
        self.fields["unit"].queryset = DriveUnit.objects.filter(installations__machine=machine, installations__to_date=None)
        fitted = list(self.fields["unit"].queryset)
        if len(fitted) == 1:
            self.fields["unit"].initial = fitted[0].pk
        self.ask_comeback(self.picked_unit(fitted), self.data.get("symptom", ""), timezone.now())

    def clean_promised_on(self):
        day = self.cleaned_data["promised_on"]
        if day and day < timezone.localdate():
            raise forms.ValidationError(f"{day} has gone by: write the day by which it is wanted.")
        return day

    def picked_unit(self, fitted):
        if not self.is_bound:
            return None
        return next((unit for unit in fitted if str(unit.pk) == self.data.get("unit")), fitted[0] if len(fitted) == 1 else None)

    def clean(self):
        given = super().clean()
        if given.get("hurt") == "yes" and not given.get("looked_after"):
            self.add_error("hurt", HOSPITAL)
        return given

    def words_of_call(self) -> dict:
        """The fields of the order that is opened."""
        given = self.cleaned_data
        answers = {name: given[name] for name in [key for key, _ in QUESTIONS] if given.get(name)}
        if given["promised_on"]:
            answers["deadline"] = str(given["promised_on"])
        plain = {name: given[name] for name in ("caller", "complaint", "symptom", "promised_on", "unit")}
        return plain | {"intake": answers} | self.comeback_fields()
