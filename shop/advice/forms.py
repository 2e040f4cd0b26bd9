"""Answers to a suggestion."""

from django import forms

from shop.forms_base import ActForm


class AcceptForm(ActForm):
    answer = forms.CharField(label="In a word", max_length=200, help_text="What will be done, by whom or when.")
    opens_order = forms.BooleanField(label="Open a work order for it", required=False)

    def __init__(self, *args, may_order: bool = True, **kwargs):
        super().__init__(*args, **kwargs)
        if not may_order:
            del self.fields["opens_order"]


class DismissForm(ActForm):
    answer = forms.CharField(
        label="Why not", max_length=200, help_text="It comes back only when the evidence has changed by enough to matter."
    )
