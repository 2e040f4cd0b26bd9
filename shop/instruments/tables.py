"""The register of instruments."""

import django_tables2 as tables
from django.utils import timezone
from django.utils.html import format_html

from shop.instruments.rows import standing_of
from shop.measures import spoken
from shop.templatetags.figures import state


class InstrumentTable(tables.Table):
    tag = tables.Column(verbose_name="Tag", linkify=("instrument", {"pk": tables.A("pk")}))
    kind = tables.Column(verbose_name="Kind")
    scale = tables.Column(verbose_name="Scale", empty_values=(), order_by="span_high")
    accuracy = tables.Column(verbose_name="Class", empty_values=(), order_by="accuracy_class_pct")
    serial = tables.Column(verbose_name="Serial")
    location = tables.Column(verbose_name="Where")
    status = tables.Column(verbose_name="Status")
    calibration = tables.Column(verbose_name="Calibration", empty_values=(), order_by="due_on")

    class Meta:
        order_by = "tag"
        empty_text = "No instrument answers to this. Take filters away, or add it to the register."

    def render_scale(self, record):
        scale = f"{record.span_low:g} to {record.span_high:g}"
        return format_html("{}&nbsp;<small>{}</small>", scale, spoken(record.unit))

    def render_accuracy(self, record):
        if record.accuracy_class_pct is None:
            return "not known"
        return f"{record.accuracy_class_pct:g} % {record.get_accuracy_basis_display()}"

    def render_calibration(self, record):
        return state(*standing_of(record.due_on, record.last_result, timezone.localdate()))
