"""The lists of tests and of procedures."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from shop.templatetags.figures import state
from shop.tests.procedures import needs_words


class OpenTestTable(tables.Table):
    number = tables.Column(verbose_name="Test", empty_values=(), order_by="-pk")
    unit = tables.Column(verbose_name="Drive", linkify=("drive", {"pk": tables.A("unit_id")}), accessor="unit__tag")
    machine = tables.Column(verbose_name="Machine", linkify=("machine", {"pk": tables.A("machine_id")}), accessor="machine")
    opened = tables.Column(verbose_name="Opened", accessor="opened_at")
    by = tables.Column(verbose_name="By", accessor="opened_by")
    standing = tables.Column(verbose_name="Standing", empty_values=(), order_by="closed_at")

    class Meta:
        order_by = ("standing", "number")
        empty_text = "No test yet. Open one from the page of a drive."

    def render_number(self, record):
        name = "test_result" if record.closed_at else "open_test"
        return format_html('<a href="{}">{}</a>', reverse(name, args=[record.pk]), record.number)

    def render_opened(self, value):
        return f"{value:%-d\u00a0%b\u00a0%Y}"

    def render_by(self, value):
        return value.get_full_name() or value.get_username()

    def render_standing(self, record):
        if record.conditions.get("given_up"):
            return state("not comparable", "given up")
        return state("inside", "closed") if record.closed_at else state("due", "in progress")


class ProcedureTable(tables.Table):
    code = tables.Column(verbose_name="Code", linkify=("procedure", {"code": tables.A("code")}))
    title = tables.Column(verbose_name="Procedure")
    version = tables.Column(verbose_name="Version", attrs={"td": {"class": "num"}, "th": {"class": "num"}})
    walk_order = tables.Column(verbose_name="Place on the way", attrs={"td": {"class": "num"}, "th": {"class": "num"}})
    needs = tables.Column(verbose_name="Applies to drives with", empty_values=(), orderable=False)
    cautions = tables.Column(verbose_name="Cautions", orderable=False)

    class Meta:
        order_by = "walk_order"
        empty_text = "No procedure on record. Load them: python manage.py load_reference."

    def render_needs(self, record):
        return needs_words(record.applies_if) or "any drive"

    def render_cautions(self, value):
        return " ".join(value)
