"""Part numbers that follow one another."""

from shop.models import Part


def standing_part(part: Part) -> Part:
    """Return the part that is ordered today for this number; a chain that runs in a circle ends where it would begin again."""
    seen = {part.pk}
    while part.superseded_by_id and part.superseded_by_id not in seen:
        part = part.superseded_by
        seen.add(part.pk)
    return part


def earlier_numbers(part: Part) -> list[Part]:
    """Return the numbers that this one took the place of, nearest first."""
    found, todo, seen = [], [part], {part.pk}
    while todo:
        for earlier in todo.pop(0).supersedes.all():
            if earlier.pk not in seen:
                seen.add(earlier.pk)
                found.append(earlier)
                todo.append(earlier)
    return found
