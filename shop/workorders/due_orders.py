"""An order from what is due on one machine: the tasks ticked become its lines, each with the reason why it is due."""

from django import forms

from shop.due.rows import DueRow, due_of_machine
from shop.forms_base import ActForm
from shop.workorders.actions import open_order
from shop.workorders.next_due import name_of
from shop.workorders.words import hours_words

CALLS = ("over late limit", "overdue", "due", "due soon")


class DueOrderForm(ActForm):
    tasks = forms.MultipleChoiceField(label="Put on the order", widget=forms.CheckboxSelectMultiple)
    complaint = forms.CharField(label="What the customer asks for besides", widget=forms.Textarea, max_length=20_000, required=False)

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.rows: dict[str, DueRow] = {row.key: row for row in due_of_machine(machine)}
        self.fields["tasks"].choices = [(key, choice_words(row)) for key, row in self.rows.items()]
        self.fields["tasks"].initial = [key for key, row in self.rows.items() if row.state in CALLS]
        self.fields["tasks"].error_messages["required"] = "Tick at least one task."

    def picked(self) -> list[tuple]:
        """Task, unit and reason of every row ticked."""
        rows = [self.rows[key] for key in self.cleaned_data["tasks"]]
        return [(row.task, row.unit, f"{row.state.capitalize()}: {row.reason}") for row in rows]


def choice_words(row: DueRow) -> str:
    """Task, state and when, in one line; why it is due goes on the order's line."""
    limits = [hours_words(row.due_h) if row.due_h is not None else "", f"{row.due_day:%-d %b %Y}" if row.due_day else ""]
    return f"{name_of(row)}: {row.state}, {' or '.join(limit for limit in limits if limit) or 'no limit known'}"


def open_due_order(*, by, machine, form: DueOrderForm):
    given = form.cleaned_data
    return open_order(by=by, machine=machine, complaint=given["complaint"], tasks=form.picked(), token=given["token"])
