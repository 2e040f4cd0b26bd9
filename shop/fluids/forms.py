"""Forms of fluid products."""

from django import forms

from fleet.models import FluidProduct
from shop.editing import RecordForm
from shop.lists import FilterForm, any_of
from shop.measures import MeasureField


class FluidFilter(FilterForm):
    q = forms.CharField(label="Name or maker", max_length=80)
    kind = forms.ChoiceField(choices=any_of(FluidProduct.Kind.choices))
    with_retired = forms.BooleanField(label="Retired ones too")


class FluidForm(RecordForm):
    nu40_mm2s = MeasureField("viscosity", label="Viscosity at 40 °C", least=2, most=2000)
    nu100_mm2s = MeasureField("viscosity", label="Viscosity at 100 °C", least=1, most=200)
    density15_kgm3 = forms.FloatField(label="Density at 15 °C, kg/m³", required=False, min_value=600, max_value=1300)

    class Meta:
        model = FluidProduct
        fields = (
            "maker",
            "name",
            "kind",
            "viscosity_grade",
            "nu40_mm2s",
            "nu100_mm2s",
            "density15_kgm3",
            "has_viscosity_improver",
            "is_zinc_free",
            "compatibility_group",
            "source",
            "is_retired",
        )
        labels = {
            "has_viscosity_improver": "Has a viscosity improver",
            "is_zinc_free": "Free of zinc",
            "source": "Where the figures stand",
            "is_retired": "No longer used",
        }

    def clean(self):
        given = super().clean()
        at40, at100 = given.get("nu40_mm2s"), given.get("nu100_mm2s")
        if at40 and at100 and at40.value <= at100.value:
            self.add_error("nu100_mm2s", "Oil thins when it warms: the figure at 100 °C must be below the one at 40 °C.")
        twin = FluidProduct.objects.filter(maker__iexact=given.get("maker", ""), name__iexact=given.get("name", "")).exclude(
            pk=self.instance.pk
        )
        if twin.exists():
            self.add_error("name", f"{twin.first()} is on record already.")
        return given
