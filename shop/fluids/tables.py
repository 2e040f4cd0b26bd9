"""The list of fluid products."""

import django_tables2 as tables

NUM = {"td": {"class": "num"}, "th": {"class": "num"}}


class FluidTable(tables.Table):
    name = tables.Column(verbose_name="Product", linkify=("fluid", {"pk": tables.A("pk")}))
    maker = tables.Column(verbose_name="Maker")
    kind = tables.Column(verbose_name="Kind")
    viscosity_grade = tables.Column(verbose_name="Grade")
    nu40_mm2s = tables.Column(verbose_name="At 40 °C, mm²/s", attrs=NUM)
    nu100_mm2s = tables.Column(verbose_name="At 100 °C, mm²/s", attrs=NUM)
    compatibility_group = tables.Column(verbose_name="Goes with group")
    is_retired = tables.BooleanColumn(verbose_name="Retired", yesno="yes,no")

    class Meta:
        order_by = "name"
        empty_text = "No fluid answers to this. Take filters away, or add the product."

    def render_nu40_mm2s(self, value):
        return f"{value:.1f}"

    def render_nu100_mm2s(self, value):
        return f"{value:.2f}"
