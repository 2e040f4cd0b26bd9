"""Acts on people: adding, roles, closing an account, a new password."""

from axes.helpers import get_cool_off
from axes.models import AccessAttempt
from axes.utils import reset
from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.contrib.sessions.models import Session
from django.db.models import Max, Sum
from django.utils import timezone

from shop.acts import act
from shop.models import Person
from shop.roles import MANAGER, ROLES


class LastManager(Exception):
    """The shop would be left without a manager."""

    def __init__(self):
        super().__init__("This is the shop's only manager. Make another one first.")


def add_person(*, by, username: str, password: str, roles, first_name: str = "", last_name: str = "", token: str = ""):
    """Make an account with its roles; return it."""
    with act("add a person", by=by, token=token) as frame:
        user = get_user_model().objects.create_user(username, password=password, first_name=first_name, last_name=last_name)
        user.groups.set(_groups(roles))
        Person.objects.create(user=user)
        frame.made = user
    return user


def change_roles(*, by, user, roles, approval_limit_cents=None, reason: str = ""):
    """Give a person other roles; what was open to them closes with the next page."""
    with act("change roles", by=by, reason=reason) as frame:
        frame.made = user
        if MANAGER not in roles:
            _refuse_last_manager(user)
        user.groups.set(_groups(roles))
        person, _ = Person.objects.get_or_create(user=user)
        person.approval_limit_cents = approval_limit_cents
        person.save()
    return user


def close_account(*, by, user, reason: str):
    """Shut an account; its history stays."""
    with act("close an account", by=by, reason=reason) as frame:
        frame.made = user
        _refuse_last_manager(user)
        user.is_active = False
        user.save(update_fields=["is_active"])
        end_sessions(user)
    return user


def open_account(*, by, user, reason: str):
    with act("open an account again", by=by, reason=reason) as frame:
        frame.made = user
        user.is_active = True
        user.save(update_fields=["is_active"])
    return user


def set_password(*, by, user, password: str, reason: str):
    """Give somebody a new password; their open sessions end, and a lock on their name is lifted."""
    with act("set a new password", by=by, reason=reason) as frame:
        frame.made = user
        user.set_password(password)
        user.save(update_fields=["password"])
        end_sessions(user)
        reset(username=user.username)
    return user


def lift_lock(*, by, user, reason: str):
    """Forget the wrong passwords that were tried for a name, so that its owner need not wait."""
    with act("lift a lock", by=by, reason=reason) as frame:
        frame.made = user
        reset(username=user.username)
    return user


def locked_until(username: str):
    """Return the moment at which a name opens again by itself, or None where it is not locked."""
    most = AccessAttempt.objects.filter(username=username).aggregate(fails=Sum("failures_since_start"), last=Max("attempt_time"))
    opens = most["last"] and most["last"] + get_cool_off()
    return opens if opens and most["fails"] >= settings.AXES_FAILURE_LIMIT and opens > timezone.now() else None


def end_sessions(user) -> None:
    """End every open session of a person."""
    mine = [s.pk for s in Session.objects.filter(expire_date__gt=timezone.now()) if s.get_decoded().get("_auth_user_id") == str(user.pk)]
    Session.objects.filter(pk__in=mine).delete()


def _groups(roles):
    return [Group.objects.get_or_create(name=role)[0] for role in roles if role in ROLES]


def _refuse_last_manager(user) -> None:
    others = get_user_model().objects.filter(groups__name=MANAGER, is_active=True).exclude(pk=user.pk)
    if user.is_active and user.groups.filter(name=MANAGER).exists() and not others.exists():
        raise LastManager
