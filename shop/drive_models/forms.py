"""Forms of drive models: figures each with their source, ports, acceptance rules, papers."""

from django import forms

from calcs.figures import NumberRefused, read_number
from calcs.quantities import QUANTITIES
from fleet.models import AcceptanceRule, Document, DriveModel, Port
from shop.drive_models.rows import COUNTED, FIGURES, GROUPS, MEASURED, label_of
from shop.editing import RecordForm
from shop.lists import any_of
from shop.measures import MeasureField

QUANTITY_CHOICES = [(code, quantity.label) for code, quantity in QUANTITIES.items()]
NEEDED = {
    "pump_displacement_cc",
    "motor_displacement_max_cc",
    "motor_displacement_min_cc",
    "pump_speed_ratio",
    "motors_per_pump",
    "charge_speed_ratio",
}


class NumberField(forms.CharField):
    """A bare number with decimal comma or point."""

    def __init__(self, *, whole=False, above=None, most=None, **kwargs):
        self.whole, self.above, self.most = whole, above, most
        super().__init__(max_length=20, widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "figure"}), **kwargs)

    def prepare_value(self, value):
        return f"{value:g}" if isinstance(value, (int, float)) else value

    def clean(self, value):
        typed = super().clean(value)
        if not typed:
            return None
        try:
            number = read_number(typed)
        except NumberRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal
        if self.whole and number != int(number):
            raise forms.ValidationError(f"{typed} is not a whole number.")
        if (self.above is not None and number <= self.above) or (self.most is not None and number > self.most):
            raise forms.ValidationError(
                f"{typed} is outside what this can be: above {self.above:g}" + (f", {self.most:g} at most." if self.most else ".")
            )
        return int(number) if self.whole else number


def figure_field(name: str) -> forms.Field:
    """Return the field of one figure of a drive model."""
    kind, label, required = FIGURES[name], label_of(name), name in NEEDED
    if kind in MEASURED:
        least = -40 if kind == "temperature" else 0
        return MeasureField(
            kind, label=label, required=required, least=least, most={"temperature": 150, "pressure": 1000}.get(kind, 100_000)
        )
    is_share = name.endswith("efficiency")
    return NumberField(label=label, required=required, whole=name in COUNTED, above=0, most=1 if is_share else None)


class DriveModelForm(RecordForm):
    """Every figure of a drive model, each with the paper and page it stands in."""

    class Meta:
        model = DriveModel
        fields = ("code", "maker", "circuit", "drains", *FIGURES, "has_brake_release", "note")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        papers = {str(paper.pk): paper for paper in Document.objects.all()}
        known = {source.figure: source for source in self.instance.sources.all()} if self.instance.pk else {}
        for name in FIGURES:
            self.add_source_of(name, papers, known.get(name))

    def add_source_of(self, name: str, papers: dict, source) -> None:
        label = label_of(name)
        self.fields[f"paper_{name}"] = forms.TypedChoiceField(
            choices=[("", "no source"), *((key, str(paper)) for key, paper in papers.items())],
            coerce=papers.get,
            empty_value=None,
            required=False,
            initial=str(source.document_id) if source else "",
            widget=forms.Select(attrs={"aria-label": f"paper of {label}"}),
        )
        box = forms.TextInput(attrs={"aria-label": f"page of {label}"})
        self.fields[f"page_{name}"] = forms.CharField(required=False, max_length=20, initial=source and source.page, widget=box)

    def rows(self):
        """Return groups of figures for the page: field, paper, page."""
        return [(title, [(self[name], self[f"paper_{name}"], self[f"page_{name}"]) for name in group]) for title, group in GROUPS.items()]

    def plain(self):
        return [self[name] for name in ("code", "maker", "circuit", "drains")]

    def clean(self):
        given = super().clean()
        for name in FIGURES:
            if bool(given.get(f"paper_{name}")) != bool((given.get(f"page_{name}") or "").strip()):
                self.add_error(f"page_{name}", f"{label_of(name)}: a source is a paper and a page; give both, or neither.")
        least, most = given.get("motor_displacement_min_cc"), given.get("motor_displacement_max_cc")
        if least is not None and most is not None and float(getattr(least, "value", least)) > float(getattr(most, "value", most)):
            self.add_error("motor_displacement_min_cc", "The least displacement of the motor cannot be above the most.")
        return given

    def sources(self) -> dict[str, tuple]:
        """Return paper and page by figure, of those that have both."""
        given = self.cleaned_data
        return {name: (given[f"paper_{name}"], given[f"page_{name}"].strip()) for name in FIGURES if given.get(f"paper_{name}")}


for _name in FIGURES:
    DriveModelForm.base_fields[_name] = figure_field(_name)


class DocumentForm(RecordForm):
    class Meta:
        model = Document
        fields = ("title", "number", "revision")

    def clean(self):
        given = super().clean()
        twin = Document.objects.filter(title=given.get("title"), number=given.get("number", ""), revision=given.get("revision")).exclude(
            pk=self.instance.pk
        )
        if twin.exists():
            self.add_error("revision", "This paper is on record at that revision.")
        return given


class PortForm(RecordForm):
    quantity = forms.ChoiceField(label="What it measures", choices=QUANTITY_CHOICES)
    gauge_span_bar = MeasureField("pressure", label="Gauge that suits it, span", least=0.5, most=1000)

    class Meta:
        model = Port
        fields = ("code", "name", "thread", "quantity", "gauge_span_bar", "walk_order")
        labels = {"code": "Stamp on the housing", "name": "Where it is"}

    def clean(self):
        given = super().clean()
        twin = self.instance.drive_model.ports.filter(code=given.get("code"), quantity=given.get("quantity")).exclude(pk=self.instance.pk)
        if twin.exists():
            self.add_error("code", "This port already stands in the map for that quantity.")
        return given


FIGURES_OF_FORM = {
    "band": ("low", "high"),
    "nominal": ("nominal", "tolerance"),
    "maximum": ("high",),
    "minimum": ("low",),
    "share_of_neutral": ("share",),
    "greatest_drop": ("high",),
    "three_classes": ("low", "high"),
    "mean_over_positions": ("high",),
    "loaded_ratio": ("share",),
    "no_motion": (),
}


class RuleForm(RecordForm):
    quantity = forms.ChoiceField(label="What is read", choices=any_of(QUANTITY_CHOICES, "Choose"))
    low = NumberField(label="Lower figure", required=False, above=-1000)
    high = NumberField(label="Upper figure", required=False, above=-1000)
    nominal = NumberField(label="Nominal", required=False, above=0)
    tolerance = NumberField(label="Tolerance", required=False, above=0)
    share = NumberField(label="Share", required=False, above=0, most=10, help_text="0.8 for eighty per cent; 1.25 for a quarter above")
    pressure_bar = MeasureField("pressure", label="At loop pressure", least=0, most=1000)
    oil_low_c = MeasureField("temperature", label="Oil from", least=-20, most=120)
    oil_high_c = MeasureField("temperature", label="Oil to", least=-20, most=120)
    speed_low_rpm = MeasureField("speed", label="Engine from", least=0, most=5000)
    speed_high_rpm = MeasureField("speed", label="Engine to", least=0, most=5000)

    class Meta:
        model = AcceptanceRule
        fields = (
            "quantity",
            "direction",
            "form",
            "low",
            "high",
            "nominal",
            "tolerance",
            "share",
            "oil_low_c",
            "oil_high_c",
            "speed_low_rpm",
            "speed_high_rpm",
            "pressure_bar",
            "document",
            "page",
        )
        labels = {"form": "Form of the rule", "document": "Paper"}
        help_texts = {"page": "Without paper and page the rule is shown and cannot decide"}

    def clean(self):
        given = super().clean()
        form = given.get("form")
        wanted = FIGURES_OF_FORM.get(form, ())
        for name in ("low", "high", "nominal", "tolerance", "share"):
            if name in wanted and given.get(name) is None and name not in self.errors:
                self.add_error(name, f"A rule of the form “{dict(AcceptanceRule.Form.choices)[form].lower()}” needs this figure.")
            elif name not in wanted and form:
                given[name] = None
        if given.get("low") is not None and given.get("high") is not None and given["low"] > given["high"]:
            self.add_error("high", "The upper figure is below the lower one.")
        if bool(given.get("document")) != bool((given.get("page") or "").strip()):
            self.add_error("page", "A source is a paper and a page: give both, or neither.")
        self.refuse_second(given)
        return given

    def refuse_second(self, given) -> None:
        rules = self.instance.drive_model.acceptance_rules.filter(
            is_retired=False, quantity=given.get("quantity"), direction=given.get("direction", "")
        )
        if rules.exclude(pk=self.instance.pk).exists():
            self.add_error("quantity", "A rule for this quantity and direction is in force: retire it first, then add the new one.")
