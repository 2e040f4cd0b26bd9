"""Forms of interval rules, tasks, severity factors, season blocks and figures of practice."""

from django import forms
from django.utils import timezone

from calcs.calendar_sums import day_words
from calcs.extension import NEVER_EXTENDED
from fleet.models import Machine, Site
from shop.checked_fields import DayField, NamedForm
from shop.due.fleet_facts import block_days
from shop.due.shop_figures import FIGURES, shop_figures
from shop.editing import RecordForm
from shop.figure_fields import FigureField, FiguresField
from shop.forms_base import ActForm
from shop.models import IntervalRule, SeasonBlock, ServiceTask, SeverityFactor

SCOPES = ("drive_model", "machine", "unit")
DATED = ("hose_made", "certificate", "season_start")  # anchors that read the item's own date


class RuleForm(RecordForm):
    """Every figure of an interval rule. What it brings is shown before it is kept."""

    first_steps_h = FiguresField(
        label="First steps, hours", required=False, most=100_000, places=1, help_text="Such as 20, 100; blank where there is no break-in"
    )
    every_h = FigureField(label="Then every, hours", required=False, places=1, least=1, most=100_000)
    every_months = FigureField(label="Or every, months, whichever comes first", required=False, places=0, least=1, most=600)
    every_h_other_fluid = FigureField(
        label="Every, hours, if another fluid was ever in the tank", required=False, places=1, least=1, most=100_000
    )
    anchor_date = DayField(
        label="The item's own date", required=False, help_text="Only for hoses, certificates and a season that hangs on no block"
    )
    early_share = FigureField(label="Due soon, per cent of the interval before", places=1, least=0, most=100)
    late_share = FigureField(label="Late limit, per cent of the interval after", places=1, least=0, most=100)

    class Meta:
        model = IntervalRule
        fields = [
            "task", "drive_model", "machine", "unit", "first_steps_h", "counted", "every_h", "every_months", "anchor", "anchor_date", "reset",
            "heeds_severity", "every_h_other_fluid", "own_fluid", "early_share", "late_share", "may_extend", "document", "page",
        ]  # fmt: skip
        labels = {
            "drive_model": "For a drive model", "machine": "or for one machine", "unit": "or for one unit",
            "anchor": "Counted from", "counted": "After the first steps",
            "own_fluid": "The rule's own fluid", "heeds_severity": "Severity factors shorten it", "page": "Page",
        }  # fmt: skip
        help_texts = {
            "document": "Without document and page the rule says so on the due list",
            "unit": "Choose one of the three; the narrowest rule wins",
        }  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("early_share", "late_share"):
            self.fields[name].initial = self.initial[name] = round(100 * getattr(self.instance, name), 1)
        self.fields["counted"].choices = [
            ("meter", "go on at multiples of the interval: 20, 100, 250, 500"), ("after_last", "count from the last step: 20, 100, 350, 600"),
        ]  # fmt: skip
        self.fields["task"].queryset = ServiceTask.objects.filter(is_retired=False)
        if self.instance.pk:
            for name in ("task", *SCOPES):
                self.fields[name].disabled = True

    def clean_early_share(self):
        return float(self.cleaned_data["early_share"]) / 100

    def clean_late_share(self):
        return float(self.cleaned_data["late_share"]) / 100

    def clean(self):
        given = super().clean()
        if sum(given.get(name) is not None for name in SCOPES) != 1:
            self.add_error("drive_model", "Choose exactly one of drive model, machine and unit.")
        if not (given.get("first_steps_h") or given.get("every_h") or given.get("every_months")):
            self.add_error("every_h", "Give hours, months or first steps; a rule without any is never due.")
        if given.get("every_h_other_fluid") and not given.get("own_fluid"):
            self.add_error("own_fluid", "Name the rule's own fluid, so that another one can be told from it.")
        if given.get("every_h_other_fluid") and not given.get("every_h"):
            self.add_error("every_h", "Give the hours that hold with the rule's own fluid as well.")
        if given.get("every_h") and given.get("every_h_other_fluid") and given["every_h_other_fluid"] > given["every_h"]:
            self.add_error("every_h_other_fluid", "Another fluid never makes an interval longer: give the hours above at most.")
        self._refuse_anchor(given)
        if given.get("document") and not given.get("page"):
            self.add_error("page", "Give the page of the document.")
        if given.get("may_extend") and given.get("task") and (given["task"].kind in NEVER_EXTENDED or given["task"].is_safety):
            self.add_error("may_extend", f"A {given['task'].get_kind_display().lower()} task or a task of safety is never extended.")
        self._refuse_twin(given)
        return given

    def _refuse_anchor(self, given) -> None:
        anchor, day = given.get("anchor"), given.get("anchor_date")
        if day and anchor not in DATED:
            self.add_error(
                "anchor_date", "Nothing reads this date: it counts from a hose, a certificate or a season start alone. Leave it blank."
            )
        if day and anchor in DATED[:2] and day > timezone.localdate():
            self.add_error("anchor_date", f"{day} lies in the future: write the day on the hose or certificate.")
        if anchor == "season_start" and not given.get("every_months"):
            self.add_error("every_months", "A task of the season comes by the calendar: give its months, such as 12.")

    def _refuse_twin(self, given) -> None:
        scope = next((name for name in SCOPES if given.get(name)), None)
        if not (scope and given.get("task")):
            return
        twin = IntervalRule.objects.filter(is_retired=False, task=given["task"], **{scope: given[scope]}).exclude(pk=self.instance.pk)
        if twin.exists():
            self.add_error("task", f"A rule for this task and this {scope.replace('_', ' ')} stands already: change or retire that one.")


class TaskForm(NamedForm, RecordForm):
    work_h = FigureField(label="Usual hours of work", places=2, least=0.05, most=200)

    class Meta:
        model = ServiceTask
        fields = ["code", "name", "kind", "group", "is_safety", "work_h", "skill", "needs_bay", "is_retired"]


class SeverityForm(NamedForm, RecordForm):
    factor = FigureField(label="Factor", places=3, help_text="What the interval is multiplied by: above 0, 1 at most")

    class Meta:
        model = SeverityFactor
        fields = ["code", "name", "factor", "source"]

    def clean_factor(self):
        factor = float(self.cleaned_data["factor"])
        if not 0 < factor <= 1:
            raise forms.ValidationError(f"{factor:g} would not shorten anything: give a figure above 0 and at most 1.")
        return factor


class DutyForm(RecordForm):
    """Which severity factors hold for a machine."""

    severity = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Conditions that hold for this machine",
        help_text="Their product shortens the intervals of rules that heed it, down to the shop's floor",
    )  # fmt: skip

    class Meta:
        model = Machine
        fields = ["severity"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        factors = SeverityFactor.objects.order_by("name")
        self.fields["severity"].choices = [(one.code, f"{one.name} (x {one.factor:g})") for one in factors]


class SeasonForm(NamedForm, RecordForm):
    from_date = DayField(label="First day", ahead_days=5 * 366)
    to_date = DayField(label="Last day", ahead_days=6 * 366)

    class Meta:
        model = SeasonBlock
        fields = ["name", "from_date", "to_date", "repeats_yearly", "customer", "machine_kind", "region", "is_hard"]
        labels = {
            "repeats_yearly": "Comes every year", "machine_kind": "Machine kind",
            "is_hard": "No planned work at all; else the week plan may still use these weeks",
        }  # fmt: skip
        help_texts = {"customer": "Blank for all", "machine_kind": "Blank for all", "region": "Blank for all; as written with the sites"}

    def clean_region(self):
        region = self.cleaned_data["region"].strip()
        known = sorted({r for r in Site.objects.exclude(region="").values_list("region", flat=True)})
        if region and region.casefold() not in {r.casefold() for r in known}:
            raise forms.ValidationError(f"No site lies in {region}. Regions on record: {', '.join(known) or 'none'}.")
        return region

    def clean(self):
        given = super().clean()
        first, last = given.get("from_date"), given.get("to_date")
        if first and last and last < first:
            self.add_error("to_date", f"{last} is before the first day, {first}. A season over New Year ends in the next year.")
        elif first and last and (last - first).days > 330:
            self.add_error("to_date", "A block this long leaves no week for planned work; blocks may have 330 days at most.")
        elif first and last:
            self._refuse_overlap(given)
        return given

    def _refuse_overlap(self, given) -> None:
        """Two blocks over the same machines may not share a day: nobody could say which one holds."""
        same = {name: given.get(name) or ("" if name != "customer" else None) for name in ("customer", "machine_kind", "region")}
        others = SeasonBlock.objects.filter(is_retired=False, **same).exclude(pk=self.instance.pk)
        mine = SeasonBlock(name="", **{name: given.get(name) for name in ("from_date", "to_date", "repeats_yearly")})
        for other in others:
            met = shared_days(mine, other)
            if met:
                self.add_error(
                    "from_date", f"These days meet the block {other}, {met}, which is for the same machines: change or retire that one."
                )
                return


def shared_days(one: SeasonBlock, other: SeasonBlock) -> str:
    """Return the days of the other block that one meets first, in words; empty where they never meet."""
    years = range(min(one.from_date, other.from_date).year - 1, max(one.to_date, other.to_date).year + 2)
    for mine in block_days(one, years):
        for theirs in block_days(other, years):
            if mine.end >= one.from_date and mine.start <= theirs.end and theirs.start <= mine.end:
                return f"{day_words(theirs.start)} to {day_words(theirs.end)} {theirs.end.year}"
    return ""


class FiguresForm(ActForm):
    """Every figure of practice of the shop."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        now = shop_figures()
        for code, figure in FIGURES.items():
            help_text = f"{figure.words}; usual {figure.usual:g}"
            places = 0 if code == "plan_weeks" else 3
            self.fields[code] = FigureField(
                label=figure.label, help_text=help_text, least=figure.least, most=figure.most, places=places, initial=f"{now[code]:g}"
            )
