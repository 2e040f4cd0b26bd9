"""Acts on customers: added with a number, retired and taken up again; none is ever deleted."""

from fleet.models import Customer
from shop.acts import act
from shop.models import Counter


def add_customer(*, record: Customer, form, words: str, by, token: str = "") -> Customer:
    with act(words, by=by, token=token) as frame:
        record.number = Counter.next_number("customer", "C")
        while Customer.objects.filter(number=record.number).exists():
            record.number = Counter.next_number("customer", "C")
        record.save()
        frame.made = record
    return record


def retire_customer(*, customer: Customer, is_retired: bool, version: int, by, token: str = "") -> Customer:
    """Retire a customer, or take one up again."""
    with act("Customer retired" if is_retired else "Customer taken up again", by=by, token=token) as frame:
        customer.is_retired = is_retired
        customer.save_over(version)
        frame.made = customer
    return customer
