"""Orders as a list."""

import django_tables2 as tables

from shop.models import WorkOrder

WHOLE = {"td": {"class": "whole"}}  # not broken over lines


class OrderTable(tables.Table):
    order = tables.TemplateColumn(
        '<input type="checkbox" name="order" value="{{ record.pk }}" aria-label="Print {{ record.number }}">',
        verbose_name="Print",
        orderable=False,
    )
    number = tables.LinkColumn("order", args=[tables.A("pk")], verbose_name="Order", attrs=WHOLE)
    state = tables.Column(verbose_name="Stands at", accessor="get_state_display", order_by="state")
    machine = tables.Column(verbose_name="Machine", order_by="machine__number")
    customer = tables.Column(verbose_name="Customer", order_by="customer__name")
    complaint = tables.TemplateColumn("{{ record.complaint|truncatechars:90|default:'–' }}", verbose_name="Complaint", orderable=False)
    taken_in_at = tables.DateColumn(format="j M Y", verbose_name="Taken in", attrs=WHOLE)
    promised_on = tables.DateColumn(format="j M Y", verbose_name="Promised", attrs=WHOLE)

    class Meta:
        model = WorkOrder
        fields = ("order", "number", "state", "machine", "customer", "complaint", "taken_in_at", "promised_on")
        order_by = ("-taken_in_at",)
        empty_text = "No order here. Take in a machine to open one."
