"""What tasks take from the shelf: parts by number, litres by product; what they cost and whether they are there."""

from collections.abc import Sequence

from django.db.models import Sum

from fleet.models import FluidFill, Installation
from shop.due.rows import DueRow
from shop.models import KitItem, Part


class Kits:
    """Kits of the tasks in some rows, and the stock they draw on; a fixed number of queries."""

    def __init__(self, rows: Sequence[DueRow]):
        machines = {row.machine.pk for row in rows}
        running = Installation.objects.running().filter(machine__in=machines)
        fitted = running.values_list("machine_id", "unit__drive_model_id", "unit__drive_model__system_oil_l")
        self.model_of, self.oil_of = {}, {}
        for machine_id, model_id, oil_l in fitted:
            self.model_of.setdefault(machine_id, model_id)
            self.oil_of[machine_id] = max(self.oil_of.get(machine_id, 0.0), oil_l or 0.0)
        items = KitItem.objects.filter(task__in={row.task.pk for row in rows}).select_related("part__superseded_by")
        self.items: dict[tuple[int, int | None], list[KitItem]] = {}
        for item in items:
            self.items.setdefault((item.task_id, item.drive_model_id), []).append(item)
        stock = Part.objects.annotate(stock=Sum("moves__quantity")).values_list("number", "stock")
        self.stock = {number: float(quantity or 0) for number, quantity in stock}
        self.left = dict(self.stock)
        fills = FluidFill.objects.standing().filter(machine__in=machines, kind__in=["first_fill", "change"])
        fills = fills.select_related("product").order_by("filled_at")
        self.product_of = {fill.machine_id: str(fill.product) if fill.product else "fluid not known" for fill in fills}

    def of(self, row: DueRow) -> list[tuple[Part, float]]:
        """Return parts and quantities of one task on its machine, a number that was followed by another given as that other."""
        model = self.model_of.get(row.machine.pk)
        found = self.items.get((row.task.pk, model), []) + (self.items.get((row.task.pk, None), []) if model else [])
        return [(item.part.superseded_by or item.part, float(item.quantity)) for item in found]

    def cost(self, row: DueRow) -> float:
        """Return what is thrown away if a task is done on the first day of its life, in the shop's money."""
        return sum(part.price_cents * quantity for part, quantity in self.of(row)) / 100

    def litres(self, row: DueRow) -> tuple[str, float] | None:
        """Return the product and litres of a fluid task."""
        if row.task.kind != "fluid" or not self.oil_of.get(row.machine.pk):
            return None
        return self.product_of.get(row.machine.pk, "fluid not known"), self.oil_of[row.machine.pk]

    def take(self, rows: Sequence[DueRow]) -> int:
        """Take the parts of some tasks from what is left; return in how many days the last missing one can be here, 0 where all are."""
        days = 0
        for part, quantity in (pair for row in rows for pair in self.of(row)):
            left = self.left.get(part.number, 0.0) - quantity
            self.left[part.number] = left
            if left < -1e-9:
                days = max(days, part.lead_days)
        return days
