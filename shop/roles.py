"""Who may do what: the one place. A view says the right it needs with `@may(...)`; a view without one fails the tests."""

from functools import wraps

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from shop.measures import units_of

MANAGER, OFFICE, TECHNICIAN = "manager", "office", "technician"
KEEPER, PARTS = "instrument keeper", "parts"  # extra rights, beside one of the three
ROLES = (MANAGER, OFFICE, TECHNICIAN, KEEPER, PARTS)

RIGHTS: dict[str, set[str]] = {
    "read the book": {MANAGER, OFFICE, TECHNICIAN, KEEPER, PARTS},
    "keep own account": {MANAGER, OFFICE, TECHNICIAN, KEEPER, PARTS},
    "record work": {MANAGER, TECHNICIAN},
    "correct the record": {MANAGER, TECHNICIAN},
    "take in orders": {MANAGER, OFFICE, TECHNICIAN},
    "work on orders": {MANAGER, OFFICE, TECHNICIAN},
    "release orders": {MANAGER},
    "ask for deferral": {MANAGER, OFFICE, TECHNICIAN},
    "approve deferral": {MANAGER},
    "keep customers": {MANAGER, OFFICE},
    "keep machines": {MANAGER, OFFICE, TECHNICIAN},
    "keep drive models": {MANAGER},
    "keep rules": {MANAGER},
    "keep fluids": {MANAGER, OFFICE, PARTS},
    "keep instruments": {MANAGER, KEEPER},
    "keep parts": {MANAGER, PARTS},
    "plan weeks": {MANAGER, OFFICE},
    "import files": {MANAGER, OFFICE, TECHNICIAN},
    "take everything out": {MANAGER},
    "see changes": {MANAGER, OFFICE, TECHNICIAN, KEEPER, PARTS},
    "keep people": {MANAGER},
}


def roles_of(user) -> set[str]:
    """The names of the roles a signed-in person holds; asked of the database at most once a request."""
    if not getattr(user, "is_active", False):
        return set()
    if not hasattr(user, "_roles"):
        user._roles = set(user.groups.values_list("name", flat=True))
    return user._roles


def has_right(user, right: str) -> bool:
    return bool(roles_of(user) & RIGHTS[right])


def may(right: str):
    """Let a view answer only to somebody who holds `right`; a stranger is asked to sign in."""
    if right not in RIGHTS:
        raise ValueError(f"right must be one of {', '.join(RIGHTS)}, got {right!r}")

    def decorate(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            if not has_right(request.user, right):
                raise PermissionDenied(f"This needs the right to {right}.")
            return view(request, *args, **kwargs)

        answer = login_required(guarded)
        answer.right = right
        return answer

    return decorate


def open_to_all(view):
    """Say that a view answers strangers on purpose."""
    view.right = None
    return view


class WhatIMay:
    """Rights by name for templates: `{% if may.record_work %}`."""

    def __init__(self, user):
        self.user = user

    def __getattr__(self, name):
        right = name.replace("_", " ")
        if right not in RIGHTS:
            raise AttributeError(name)
        return has_right(self.user, right)


WORDS = (
    ("Due", "due"),
    ("Machines", "machines"),
    ("Drives", "drives"),
    ("Orders", "orders"),
    ("Plan", "plan"),
    ("Reports", "reports"),
)


def what_i_may(request):
    """Context of every page: the words on top, rights, and the person's own units."""
    common = {"shop_name": settings.SHOP_NAME, "may": None}
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return common
    here = request.path.split("/")[1]
    words = [(word, reverse(name), name) for word, name in WORDS]
    return common | {
        "may": WhatIMay(user),
        "my_units": units_of(user),
        "my_roles": sorted(roles_of(user)),
        "shop_words": words,
        "here": here,
    }
