"""The list of machines."""

import django_tables2 as tables
from django.utils.html import format_html

from fleet.models import Machine
from shop.templatetags.figures import hours

NUM = {"td": {"class": "num"}, "th": {"class": "num"}}


class MachineTable(tables.Table):
    number = tables.Column(verbose_name="Number", linkify=("machine", {"pk": tables.A("pk")}))
    model = tables.Column(verbose_name="Machine", accessor="model", order_by=("maker", "model"))
    serial = tables.Column(verbose_name="Serial")
    customer = tables.Column(verbose_name="Owner", linkify=("customer", {"pk": tables.A("customer_id")}), order_by="customer__name")
    drives = tables.Column(verbose_name="Drives fitted", empty_values=(), orderable=False)
    hours_h = tables.Column(verbose_name="Life hours", attrs=NUM)
    hours_at = tables.DateColumn(verbose_name="Read on", format="j M Y")
    status = tables.Column(verbose_name="Status")

    class Meta:
        order_by = "number"
        empty_text = "No machine answers to this. Take filters away, or add the machine."

    def render_model(self, record: Machine):
        return format_html("{} {}<br><small>{}</small>", record.maker, record.model, record.get_kind_display())

    def render_drives(self, record: Machine):
        return ", ".join(row.unit.tag for row in record.fitted) or "–"

    def render_hours_h(self, value):
        return hours(value)
