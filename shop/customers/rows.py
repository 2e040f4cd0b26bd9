"""What the list and the page of customers hold."""

from django.db.models import Count, Q

from fleet.hours import with_hours
from fleet.models import Customer
from shop.models import WorkOrder


def customers_listed(wanted: dict):
    """Customers that answer to the filters, with how many machines and open orders they have."""
    customers = Customer.objects.naming(wanted["q"]) if wanted.get("q") else Customer.objects.all()
    if not wanted.get("with_retired"):
        customers = customers.filter(is_retired=False)
    running = ~Q(orders__state__in=WorkOrder.ENDED) & Q(orders__isnull=False)
    return customers.annotate(machine_count=Count("machines", distinct=True), open_orders=Count("orders", filter=running, distinct=True))


def customer_page(customer: Customer) -> dict:
    return {
        "customer": customer,
        "sites": customer.sites.all(),
        "contacts": customer.contacts.order_by("is_retired", "name"),
        "machines": with_hours(customer.machines.select_related("site")),
        "orders": WorkOrder.objects.open().filter(customer=customer).select_related("machine"),
        "sold": customer.ownerships.exclude(to_date=None).select_related("machine").order_by("-to_date"),
    }
