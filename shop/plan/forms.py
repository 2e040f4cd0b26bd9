"""Forms of bookings and hands."""

from datetime import datetime

from django import forms
from django.utils import timezone

from fleet.models import Machine
from shop.checked_fields import DayField, NamedForm, refuse_backwards
from shop.editing import RecordForm
from shop.figure_fields import FigureField
from shop.forms_base import ActForm
from shop.models import Bay, Booking, Skill, Technician, WorkOrder

MOST_DAYS_AWAY = 366


class TimeInput(forms.TimeInput):
    input_type = "time"


class BookingForm(ActForm):
    """A booking by hand: machine, words, week; day, time and hands where they are known."""

    machine = forms.ModelChoiceField(Machine.objects.in_use(), label="Machine")
    title = forms.CharField(max_length=160, label="What is to be done")
    order = forms.ModelChoiceField(WorkOrder.objects.none(), required=False, label="Order", empty_label="none")
    week_start = DayField(label="Week", help_text="Any day of the week")
    day = DayField(required=False, label="Day", help_text="Blank while only the week is known")
    start_time = forms.TimeField(widget=TimeInput(format="%H:%M"), required=False, label="Begins at")
    work_h = FigureField(label="Hours of work", places=2, least=0.25, most=400)
    technician = forms.ModelChoiceField(
        Technician.objects.filter(is_retired=False), required=False, label="Hands", empty_label="not known yet"
    )
    bay = forms.ModelChoiceField(Bay.objects.filter(is_retired=False), required=False, label="Bay", empty_label="none")
    reason = forms.CharField(max_length=300, required=False, label="Why here")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["order"].queryset = WorkOrder.objects.open()

    def clean(self):
        given = super().clean()
        week, day, machine = given.get("week_start"), given.get("day"), given.get("machine")
        if week and day and (day.isocalendar()[:2] != week.isocalendar()[:2]):
            self.add_error("day", f"{day} is not in the week of {week}: give a day of that week, or leave it blank.")
        if given.get("start_time") and not day:
            self.add_error("day", "Give the day on which it begins at that time.")
        bay = given.get("bay")
        if bay and machine and machine.height_m and bay.door_height_m and machine.height_m > bay.door_height_m:
            self.add_error(
                "bay", f"{machine} is {machine.height_m:g} m high, the door of {bay} is {bay.door_height_m:g} m: choose a higher one."
            )
        order = given.get("order")
        if order and machine and order.machine_id != machine.pk:
            self.add_error("order", f"Order {order} is for another machine.")
        return given

    def fields_of_booking(self) -> dict:
        given = {name: value for name, value in self.cleaned_data.items() if name not in ("token", "start_time")}
        at = self.cleaned_data.get("start_time")
        given["start_at"] = timezone.make_aware(datetime.combine(given["day"], at)) if at else None
        return given


class MoveForm(ActForm):
    week = forms.ChoiceField(label="To the week of")
    version = forms.IntegerField(widget=forms.HiddenInput)
    sure = forms.BooleanField(required=False, label="Move it although it breaks what is said above")

    def __init__(self, *args, weeks, booking: Booking, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["week"].choices = [(str(monday), f"{monday:%-d %b %Y}") for monday in weeks]
        self.fields["version"].initial = booking.version
        self.fields["week"].initial = str(booking.week_start)


class TechnicianForm(NamedForm, RecordForm):
    hours_per_week = FigureField(label="Hours a week", places=2, least=0, most=80)
    skills = forms.ModelMultipleChoiceField(Skill.objects.all(), required=False, widget=forms.CheckboxSelectMultiple, label="Skills")

    class Meta:
        model = Technician
        fields = ["name", "user", "hours_per_week", "skills", "is_retired"]
        labels = {"user": "Account", "is_retired": "Left the shop"}


class SkillForm(NamedForm, RecordForm):
    class Meta:
        model = Skill
        fields = ["code", "name"]


class BayForm(RecordForm):
    door_height_m = FigureField(label="Height of its door, m", places=2, least=1, most=20, required=False)

    class Meta:
        model = Bay
        fields = ["name", "door_height_m", "is_retired"]

    def clean_door_height_m(self):
        height = self.cleaned_data["door_height_m"]
        return None if height is None else float(height)


class TimeAwayForm(ActForm):
    from_date = DayField(label="First day away")
    to_date = DayField(label="Last day away")
    reason = forms.CharField(max_length=80, required=False, label="Remark")

    def clean(self):
        given = super().clean()
        refuse_backwards(self, "from_date", "to_date")
        if given.get("from_date") and given.get("to_date") and (given["to_date"] - given["from_date"]).days >= MOST_DAYS_AWAY:
            self.add_error(
                "to_date", f"{given['to_date']} is more than a year after the first day: say that the technician has left the shop instead."
            )
        return given


class KeyForm(ActForm):
    """A secret calendar address, for the whole shop, one customer or one technician."""

    scope = forms.ChoiceField(choices=[("shop", "Whole shop"), ("customer", "One customer"), ("technician", "One technician")], label="For")
    customer = forms.ModelChoiceField(None, required=False, label="Customer")
    technician = forms.ModelChoiceField(Technician.objects.filter(is_retired=False), required=False, label="Technician")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        from fleet.models import Customer

        self.fields["customer"].queryset = Customer.objects.filter(is_retired=False)

    def clean(self):
        given = super().clean()
        scope = given.get("scope")
        for name in ("customer", "technician"):
            if scope == name and not given.get(name):
                self.add_error(name, f"Choose the {name} this calendar is for.")
            elif scope != name:
                given[name] = None
        return given
