"""Moments, people and hours as they are printed."""

from django.utils import timezone

from calcs.thousands import grouped


def moment(at) -> str:
    return timezone.localtime(at).strftime("%Y-%m-%d %H:%M") if at else "–"


def named(user) -> str:
    return (user.get_full_name() or user.get_username()) if user else "–"


def hours_words(hours) -> str:
    return f"{grouped(hours, 1, fixed=True)} h" if hours is not None else "–"
