"""Parts taken off and kept under a tag: cores that go back, parts of a warranty claim."""

from django.utils import timezone

from shop.acts import act
from shop.models import Counter, HeldPart, OrderLine
from shop.refusals import Refused


def hold_part(*, by, line: OrderLine, kind: str, words: str, place: str = "", core_cents: int | None = None, token: str = "") -> HeldPart:
    with act("tag a part", by=by, token=token) as frame:
        frame.made = HeldPart.objects.create(
            tag=Counter.next_number("tag", "P"),
            kind=kind,
            order=line.order,
            order_line=line,
            words=words,
            place=place,
            core_cents=core_cents or 0,
            recorded_by=by,
        )
    return frame.made


def settle_part(*, by, held: HeldPart, words: str, token: str = "") -> HeldPart:
    """Say how a core or a claim was settled; a tag is settled once."""
    with act("settle a tagged part", by=by, token=token) as frame:
        settled = HeldPart.objects.filter(pk=held.pk, settled_at=None).update(
            settled_at=timezone.now(), settled_by=by, settled_words=words[:200]
        )
        if not settled:
            raise Refused(f"{held.tag} was settled already.")
        held.refresh_from_db()
        frame.made = held
    return held
