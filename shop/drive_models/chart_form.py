"""The sliders of the chart: a plain form that is asked for, not sent; what is out of range is brought into it."""

from django import forms

from fleet.models import DriveModel, FluidProduct, Machine
from shop.drive_models.chart import base_setting
from shop.lists import FilterForm

SLIDERS = {  # name: label, what the figures mean, least, most, step
    "command": ("Control position", "0 neutral, 1 pump at full stroke, 2 motor flattened", 0, 2, 0.05),
    "load_bar": ("Load pressure, bar", "high side above case", 20, 420, 5),
    "oil_temp_c": ("Oil temperature, °C", "in the loop", 20, 100, 1),
    "wear_times": ("Leakage against new, times", "1 is as new", 1, 6, 0.1),
    "traction_coefficient": ("Grip of the ground", "0.3 wet, 0.8 dry and firm", 0.1, 1, 0.05),
}


class SliderInput(forms.NumberInput):
    """A slider with a box. Without scripts the one that was moved counts; with scripts they move together."""

    template_name = "shop/drive_models/_slider.html"

    def value_from_datadict(self, data, files, name):
        box, slid, was = (data.get(key) for key in (name, f"slide_{name}", f"was_{name}"))
        return slid if slid is not None and box == was and slid != was else box


class ChartForm(FilterForm):
    machine = forms.ModelChoiceField(Machine.objects.none(), label="In machine", empty_label=None)
    oil = forms.ModelChoiceField(FluidProduct.objects.none(), label="Oil", empty_label=None)

    def __init__(self, asked, *, model: DriveModel):
        machines, oils = machines_with(model), known_oils()
        self.in_machine, self.with_oil = chosen(machines, asked.get("machine")), chosen(oils, asked.get("oil"))
        super().__init__(asked, auto_id="chart_%s")
        self.fields["machine"].queryset, self.fields["oil"].queryset = machines, oils
        if self.in_machine:
            self.add_sliders(model)
            self.is_valid()
            self.sliders = {name: self.within(name) for name in SLIDERS}
            self.data = {name: f"{value:g}" for name, value in self.sliders.items()}
            self.data |= {"machine": self.in_machine.pk, "oil": self.with_oil.pk if self.with_oil else ""}

    def add_sliders(self, model: DriveModel) -> None:
        self.base = base_setting(model, self.in_machine)
        self.bounds = {name: (float(row[2]), float(row[3])) for name, row in SLIDERS.items()}
        self.bounds["command"] = (0.0, self.base.command)
        self.bounds["load_bar"] = (20.0, float(model.relief_forward_bar or 420))
        for name, (label, meaning, _, _, step) in SLIDERS.items():
            least, most = self.bounds[name]
            attrs = {"min": f"{least:g}", "max": f"{most:g}", "step": f"{step:g}", "class": "figure"}
            self.fields[name] = forms.FloatField(label=label, help_text=meaning, required=False, widget=SliderInput(attrs=attrs))

    def within(self, name: str) -> float:
        """Return what was asked for, taken into the range; where nothing was, the place of rest."""
        (least, most), asked = self.bounds[name], self.cleaned_data.get(name)
        return min(max(getattr(self.base, name) if asked is None else asked, least), most)


def chosen(rows, key):
    """Return the row with a key, or else the first."""
    wanted = rows.filter(pk=key).first() if key and key.isdecimal() and len(key) < 10 else None
    return wanted or rows.first()


def machines_with(model: DriveModel):
    """Machines that the model is fitted in now, or else any; only those whose wheel and ratio are known."""
    known = Machine.objects.filter(rolling_radius_m__isnull=False, final_ratio__isnull=False)
    fitted = known.filter(installations__unit__drive_model=model, installations__to_date=None).distinct()
    return fitted if fitted.exists() else known


def known_oils():
    return FluidProduct.objects.filter(nu40_mm2s__isnull=False, nu100_mm2s__isnull=False, is_retired=False)
