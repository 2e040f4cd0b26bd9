"""Readings that did not stay as they were written: put right, or marked as not valid; and the numbers given out so far."""

from datetime import timedelta

from fleet.models import Reading
from shop.demo.book import Book
from shop.models import Counter, Visit, WorkOrder

INVALID = ("Hose was not bled, needle swung", "Engine fell off before the needle stood", "Bypass valve was not quite shut")
RIGHT_OF_IT = ("12 read as 21: two digits swapped", "Entered on the wrong line of the sheet")


def make_marks(book: Book) -> None:
    """Mark three readings as not valid and put two right, far from the planted stories."""
    healthy = Reading.objects.filter(drive_test__unit__tag__in=["D-00009", "D-00011", "D-00025"], quantity="charge_stroked").order_by("pk")
    for reading, reason in zip(healthy[2:12:4], INVALID, strict=False):
        reading.is_valid, reading.invalid_reason = False, reason
        reading.save(update_fields=["is_valid", "invalid_reason"])
    for reading, reason in zip(healthy[3:11:5], RIGHT_OF_IT, strict=False):
        _put_right(reading, reason)


def _put_right(reading: Reading, reason: str) -> None:
    """Write the true row after a wrong one, which stays."""
    true = {f.attname: getattr(reading, f.attname) for f in Reading._meta.concrete_fields if f.name not in ("id", "supersedes")}
    reading.value, reading.typed = reading.value + 9.0, f"{float(reading.typed.replace(',', '.')) + 9.0:.1f}"
    reading.typed_unit = "bar"
    reading.save(update_fields=["value", "typed"])
    later = reading.recorded_at + timedelta(days=1)
    Reading.objects.create(**true | {"supersedes": reading, "correction_reason": reason, "recorded_at": later})


def set_counters(book: Book) -> None:
    """Let the next number follow those of the demo."""
    given = {
        "customer": len(book.customers),
        "machine": len(book.machines),
        "drive": len(book.units),
        "test": len(book.tests),
        "visit": Visit.objects.count(),
        "order": WorkOrder.objects.count(),
    }
    Counter.objects.bulk_create(Counter(name=name, last=last) for name, last in given.items())
