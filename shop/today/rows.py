"""What the first page and the find box hold."""

from dataclasses import dataclass, field

from django.urls import reverse

from fleet.models import Customer, DriveUnit, Machine
from shop.models import WorkOrder

MOST = 20


@dataclass
class Hit:
    title: str
    note: str
    url: str


@dataclass
class Group:
    title: str
    rows: list[Hit] = field(default_factory=list)


def sentences_of_today(user) -> list[str]:
    open_orders = WorkOrder.objects.open().count()
    return [f"{open_orders} work orders are open." if open_orders != 1 else "1 work order is open."]


def found_records(text: str) -> list[Group]:
    """Machines, drives, orders, tests and customers that hold `text`."""
    if not text:
        return []
    groups = [
        Group("Machines", [Hit(str(m), m.serial, reverse("machine", args=[m.pk])) for m in Machine.objects.naming(text)[:MOST]]),
        Group("Drives", [Hit(u.tag, f"{u.drive_model} serial {u.serial}", reverse("drive", args=[u.pk])) for u in DriveUnit.objects.naming(text).select_related("drive_model")[:MOST]]),
        Group("Orders", [Hit(o.number, str(o.machine), reverse("order", args=[o.pk])) for o in WorkOrder.objects.filter(number__icontains=text).select_related("machine")[:MOST]]),
        Group("Customers", [Hit(c.name, c.number, reverse("customer", args=[c.pk])) for c in Customer.objects.naming(text)[:MOST]]),
    ]
    return [group for group in groups if group.rows]
