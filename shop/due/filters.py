"""Filters of the due list and of its counts, as they stand in the address."""

from datetime import date, timedelta

from django import forms

from calcs.due import STATES
from fleet.models import Customer, Machine
from shop.editing import DayInput
from shop.lists import FilterForm, any_of
from shop.models import ServiceTask

WANTED = {
    "now": ("Needs doing now or soon", ("over late limit", "overdue", "due", "due soon")),
    "all": ("Everything", STATES),
    **{word: (word.capitalize(), (word,)) for word in STATES},
}

YEAR = 365


class DueFilter(FilterForm):
    show = forms.ChoiceField(choices=[(key, words) for key, (words, _) in WANTED.items()], label="Show")
    customer = forms.ModelChoiceField(Customer.objects.only("name"), label="Customer", empty_label="All")
    kind = forms.ChoiceField(choices=any_of(Machine.Kind.choices), label="Machine kind")
    task = forms.ModelChoiceField(ServiceTask.objects.filter(is_retired=False), label="Task", empty_label="All")
    q = forms.CharField(label="Machine or serial", max_length=60)

    def asked(self) -> dict:
        """Return the filters as the list takes them."""
        wanted = self.wanted()
        states = WANTED.get(wanted.get("show", "now"), WANTED["now"])[1]
        machines = Machine.objects.in_use()
        if "customer" in wanted:
            machines = machines.filter(customer=wanted["customer"])
        if "q" in wanted:
            machines = machines.naming(wanted["q"])
        narrowed = {"customer", "q"} & set(wanted)
        task = wanted.get("task")
        return {
            "states": states,
            "machines": set(machines.values_list("pk", flat=True)) if narrowed else None,
            "task_id": task.pk if task else None,
            "kind": wanted.get("kind", ""),
        }


class PeriodFilter(FilterForm):
    """Two days; what cannot be is left out: the last year then."""

    since = forms.DateField(widget=DayInput(), label="From")
    until = forms.DateField(widget=DayInput(), label="To")

    def period(self, today: date) -> tuple[date, date]:
        """Return the days asked about, never ahead of today, in order."""
        wanted = self.wanted()
        until = min(wanted.get("until", today), today)
        since = wanted.get("since", until - timedelta(days=YEAR))
        return (since, until) if since <= until else (until - timedelta(days=YEAR), until)
