"""What of a visit becomes a work order: findings and readings to tick, and the complaint in words."""

from __future__ import annotations

from django import forms

from shop.forms_base import ActForm


class OrderFromVisitForm(ActForm):
    """Findings still open and readings that call for work, all ticked to begin with."""

    complaint = forms.CharField(label="What the order is for", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))
    findings = forms.MultipleChoiceField(label="Findings", required=False, widget=forms.CheckboxSelectMultiple)
    readings = forms.MultipleChoiceField(label="Readings that call for work", required=False, widget=forms.CheckboxSelectMultiple)

    def __init__(self, *args, visit, findings, outside, **kwargs):
        super().__init__(*args, **kwargs)
        self.visit = visit
        self.found = {str(finding.pk): finding for finding in findings if finding.closed_at is None}
        self.outside = {str(line.reading.pk): line for line in outside}
        self._offer("findings", [(key, finding.words) for key, finding in self.found.items()])
        self._offer("readings", [(key, f"{line.label}: {line.verdict.state}") for key, line in self.outside.items()])

    def _offer(self, name: str, choices) -> None:
        self.fields[name].choices, self.fields[name].initial = choices, [key for key, _ in choices]
        if not choices:
            del self.fields[name]

    def clean(self):
        cleaned = super().clean()
        if not any(cleaned.get(name) for name in ("complaint", "findings", "readings")):
            self.add_error(None, "Tick a finding or a reading, or write what the order is for.")
        return cleaned

    def lines(self) -> dict:
        """Return what the order is opened with; the drive where all of it is about one."""
        given = self.cleaned_data
        findings = [self.found[key] for key in given.get("findings", ())]
        readings = [self.outside[key].reading for key in given.get("readings", ())]
        units = {finding.unit for finding in findings} | {reading.drive_test.unit for reading in readings}
        unit = units.pop() if len(units) == 1 else None
        words = given.get("complaint") or f"From visit {self.visit.number}"
        return {"unit": unit, "complaint": words, "findings": findings, "readings": readings}
