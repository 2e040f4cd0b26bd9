"""At least one row of everything: the demo shop, and by hand what it leaves empty."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from django.apps import apps
from django.db import IntegrityError, models, transaction

from tests.records.payloads import MARKUP

DAY, NOW = date(2026, 11, 23), datetime(2026, 11, 25, 9, tzinfo=UTC)
LEFT_ALONE = {  # what no person types and pages work with
    "search_text", "serial_key", "content_key", "stored_name", "sha256", "media_type", "uid", "secret", "evidence_key", "edition", "key", "step", "drains", "metal",
    "quantity", "direction", "unit", "figure", "from_state", "to_state", "began", "item", "code", "limit_source",
}  # fmt: skip
RECORD_ITSELF = {"Act", "CurrentAct", "ChangeEntry", "FormToken", "Counter"}


def models_of_ours() -> list:
    return [
        model for label in ("fleet", "shop") for model in apps.get_app_config(label).get_models() if model.__name__ not in RECORD_ITSELF
    ]


def stock_the_rest(by) -> None:
    """Make one row of each kind that the demo leaves out."""
    for model in models_of_ours():
        if not model._base_manager.exists():
            given = {field.attname: some_value(field) for field in model._meta.local_concrete_fields if is_wanted(field)}
            model._base_manager.create(**given | SETTLED.get(model.__name__, {}))
        for field in model._meta.local_many_to_many:
            first = model._base_manager.first()
            if not field.remote_field.through._base_manager.exists():
                getattr(first, field.name).add(field.related_model._base_manager.first())


SETTLED = {  # what the constraints of a table ask for
    "CalendarKey": {"scope": "shop", "customer_id": None, "technician_id": None},
    "Extension": {"share": 0.1, "expires_on": DAY + timedelta(30)},
    "HeldPart": {"settled_at": NOW},
    "Procedure": {"steps": [{"text": "Look at it", "cautions": ["C1"]}], "cautions": ["C1"]},
    "Advice": {"answered_at": NOW, "is_accepted": True},
    "OpenTestMark": {"step": "T01", "content": {"field": "tick", "value": "<zz-canary>"}},
    "OpenTest": {"test_before_id": None, "test_after_id": None},
}


def is_wanted(field) -> bool:
    return not field.primary_key and (field.is_relation or not field.has_default()) and not (field.null and not field.is_relation)


def some_value(field):
    if field.is_relation:
        first = field.related_model._base_manager.order_by("pk").first()
        return first.pk if first and field.related_model is not field.model else None
    if field.choices:
        return [key for key, _ in field.choices if key][0]
    plain = {
        models.DateField: DAY,
        models.DateTimeField: NOW,
        models.DecimalField: Decimal(1),
        models.JSONField: {},
        models.BooleanField: False,
    }
    for kind in (models.DateTimeField, *plain):
        if isinstance(field, kind):
            return plain[kind]
    return "x" if isinstance(field, (models.CharField, models.TextField)) else 1


def empty_models() -> list[str]:
    return [model._meta.label for model in models_of_ours() if not model._base_manager.exists()]


def typed_fields(model) -> list:
    """Text fields that a person or a file may fill."""
    texts = [f for f in model._meta.local_concrete_fields if isinstance(f, (models.CharField, models.TextField))]
    return [f for f in texts if not f.choices and f.name not in LEFT_ALONE and not isinstance(f, models.EmailField)]


def poison(turn: int) -> tuple[int, list[str]]:
    """Put a piece of markup into every typed text of many rows; return how many fields took it, and those that took none."""
    taken, left = 0, []
    for model in models_of_ours():
        for number, field in enumerate(typed_fields(model)):
            numbers = [*model._base_manager.order_by("pk").values_list("pk", flat=True)[:25], model._base_manager.order_by("pk").last().pk]
            done = sum(_put(model, field, pk, MARKUP[(turn + number + place) % len(MARKUP)]) for place, pk in enumerate(numbers))
            taken += bool(done)
            left += [] if done else [f"{model._meta.label}.{field.name}"]
    return taken, left


def _put(model, field, pk, words: str) -> bool:
    words = f"{words} {pk}" if field.unique or _meets_others(model, field) else words
    words = words if len(words) <= (field.max_length or 10_000) else f"<i zz>{pk}"
    if len(words) > (field.max_length or 10_000):
        return False
    try:
        with transaction.atomic():
            return bool(model._base_manager.filter(pk=pk).update(**{field.attname: words}))
    except IntegrityError:  # a row that may not hold words here, such as a reason for something that was not done
        return False


def _meets_others(model, field) -> bool:
    return any(field.name in getattr(one, "fields", ()) for one in model._meta.constraints)
