"""Every address of the site, with numbers of records that stand in the demo: found as a person finds them, by following the links of the pages."""

from urllib.parse import urlsplit

from django.urls import Resolver404, URLPattern, get_resolver, resolve, reverse

from fleet.models import DriveUnit, Machine
from shop.models import Visit, WorkOrder

LEFT_ALONE = {"sign_out", "take_out_book"}  # one ends the walk; the other packs the whole book


class Walk:
    """Which addresses are still to be opened; one of each name, beside those that it starts from."""

    def __init__(self):
        self.rooms = {p.name: p for p in get_resolver().url_patterns if isinstance(p, URLPattern) and p.name not in LEFT_ALONE}
        self.waiting = [reverse("today"), *_fullest()]
        self.met = {resolve(address).url_name for address in self.waiting}

    def meet(self, link: str) -> None:
        """Take a link that was seen; its address is opened once, whatever number stands in it."""
        address = urlsplit(link).path
        try:
            name = resolve(address).url_name
        except Resolver404:
            return
        if name in self.rooms and name not in self.met:
            self.met.add(name)
            self.waiting.append(address)

    def __iter__(self):
        while self.waiting:
            yield self.waiting.pop(0)

    def unmet(self) -> dict[str, str]:
        """Return addresses that no page leads to, by name, with a number that need not exist."""
        rooms = {name: p for name, p in self.rooms.items() if name not in self.met}
        return {
            name: reverse(name, kwargs={key: 1 if "Int" in type(c).__name__ else "x1" for key, c in p.pattern.converters.items()})
            for name, p in rooms.items()
        }


def _fullest():
    """Return the addresses of records where the demo has most to show, and of one order in each state."""
    yield reverse("drive", args=[DriveUnit.objects.get(tag="D-00024").pk])
    yield reverse("machine", args=[Machine.objects.get(number="M-00020").pk])
    yield reverse("visit", args=[Visit.objects.order_by("-pk").first().pk])
    newest = {order.state: order.pk for order in WorkOrder.objects.order_by("pk")}
    for pk in newest.values():
        yield reverse("order", args=[pk])
    yield reverse("quote", args=[max(newest.values())])
