"""Parts as a list."""

import django_tables2 as tables

from shop.models import Part

NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}


class PartTable(tables.Table):
    number = tables.LinkColumn("part", args=[tables.A("pk")], verbose_name="Number")
    name = tables.Column(verbose_name="Name")
    stock = tables.Column(verbose_name="On the shelf", attrs=NUMBER, default="0")
    unit = tables.Column(verbose_name="Unit", orderable=False)
    bin = tables.Column(verbose_name="Bin")
    lead_days = tables.Column(verbose_name="Lead time, days", attrs=NUMBER)
    price_cents = tables.TemplateColumn("{{ value|money }}", verbose_name="Price", attrs=NUMBER)
    superseded_by = tables.Column(verbose_name="Now", accessor="superseded_by__number", default="")

    class Meta:
        model = Part
        fields = ("number", "name", "stock", "unit", "bin", "lead_days", "price_cents", "superseded_by")
        empty_text = "No part here. Add the first one with its number."

    def render_stock(self, value):
        return f"{value.normalize():f}"
