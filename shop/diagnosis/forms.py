"""What the reader says of the drive: the complaint, and what was looked for."""

from django import forms

from shop.diagnosis.rows import LOOKED_FOR, SYMPTOM_CHOICES
from shop.lists import FilterForm

ANSWERS = [("", "not looked at"), ("yes", "there"), ("no", "not there")]


class LookedForm(FilterForm):
    """Everything is optional: each answer may change what is advised."""

    symptom = forms.ChoiceField(label="Complaint", choices=SYMPTOM_CHOICES)

    def __init__(self, data=None, **kwargs):
        super().__init__(data, **kwargs)
        for sign, words in LOOKED_FOR:
            self.fields[sign] = forms.ChoiceField(label=words.capitalize(), choices=ANSWERS, required=False)

    @property
    def signs(self):
        return [self[sign] for sign, _ in LOOKED_FOR]

    @property
    def any_answer(self) -> bool:
        return bool(self.answered("yes") or self.answered("no"))

    def answered(self, wanted: str) -> list[str]:
        return [sign for sign, _ in LOOKED_FOR if self.wanted().get(sign) == wanted]
