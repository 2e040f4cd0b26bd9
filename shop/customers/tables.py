"""The list of customers."""

import django_tables2 as tables

NUM = {"td": {"class": "num"}, "th": {"class": "num"}}


class CustomerTable(tables.Table):
    number = tables.Column(verbose_name="Number")
    name = tables.Column(verbose_name="Name", linkify=("customer", {"pk": tables.A("pk")}))
    phone = tables.Column(verbose_name="Phone", orderable=False)
    preferred_channel = tables.Column(verbose_name="Reach by", orderable=False)
    machine_count = tables.Column(verbose_name="Machines", attrs=NUM)
    open_orders = tables.Column(verbose_name="Open orders", attrs=NUM)
    is_retired = tables.BooleanColumn(verbose_name="Retired", yesno="yes,no")

    class Meta:
        order_by = "name"
        empty_text = "No customer answers to this. Take filters away, or add the customer."
