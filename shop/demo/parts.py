"""Parts with their stock, and what each task takes on each drive model."""

from datetime import timedelta
from decimal import Decimal

from fleet.models.base import folded
from shop.demo.book import Book
from shop.demo.times import dice, moment
from shop.models import KitItem, Part, StockMove

# stem, name, price in cents, lead days, core charge in cents, months on the shelf
STEMS = (
    ("CF", "Charge filter element", 6_450, 3, 0, None),
    ("RF", "Return filter element", 4_980, 3, 0, None),
    ("SS", "Suction screen", 3_200, 5, 0, None),
    ("SK", "Shaft seal kit", 8_800, 10, 0, 60),
    ("RC", "Relief cartridge", 17_400, 14, 0, None),
    ("HK", "Drive hose set", 61_000, 9, 0, 24),
    ("XU", "Exchange drive unit", 684_000, 21, 90_000, None),
)
KITS = {"CHARGE-FILTER": ("CF",), "RETURN-FILTER": ("RF",), "SUCTION-SCREEN": ("SS",), "FLUID": ("CF", "RF"), "HOSES": ("HK",)}
OLD_NUMBERS = {"CF-HD75": "CF-075-A", "SK-LM38": "SK-038"}  # the number of before, still found in old papers


def make_parts(book: Book) -> None:
    parts = {f"{stem}-{code}": _part(f"{stem}-{code}", name, *rest) for code in book.models for stem, name, *rest in STEMS}
    Part.objects.bulk_create(parts.values())
    Part.objects.bulk_create(_part(old, f"{parts[new].name}, old number", 0, 0, 0, None, parts[new]) for new, old in OLD_NUMBERS.items())
    KitItem.objects.bulk_create(
        KitItem(task=book.tasks[task], drive_model=model, part=parts[f"{stem}-{code}"])
        for code, model in book.models.items()
        for task, stems in KITS.items()
        for stem in stems
    )
    book.parts = parts
    StockMove.objects.bulk_create(_moves(book))


def _part(number: str, name: str, price: int, lead: int, core: int, shelf, follows=None) -> Part:
    return Part(
        number=number,
        name=name,
        price_cents=price,
        lead_days=lead,
        core_charge_cents=core,
        shelf_months=shelf,
        superseded_by=follows,
        bin=f"{number[0]}{len(number)}-{number[-1]}",
        search_text=folded(number, name),
    )


def _moves(book: Book):
    """Counted at the last stock-taking; the charge filter of the big drive has run out, as the overdue one waits for it."""
    for number, part in book.parts.items():
        count = 0 if number in ("CF-VK110",) else int(dice("stock", number).integers(0, 7))
        day = book.span.ago(60)
        note = "Stock-taking" if count else "Stock-taking: none left, three ordered"
        yield StockMove(
            part=part,
            kind="counted",
            quantity=Decimal(count),
            moved_at=moment(day, 500),
            note=note,
            recorded_by=book.users["piet"],
            recorded_at=moment(day, 500) + timedelta(minutes=5),
        )
