"""The people of the demo shop, and what the sign-in page may tell about them."""

from datetime import timedelta

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import Group

from shop.demo.book import Book
from shop.demo.times import moment
from shop.models import Bay, Person, Technician, TimeAway
from shop.roles import KEEPER, MANAGER, OFFICE, PARTS, ROLES, TECHNICIAN

PASSWORD = "swash plate tour"
SALT = "demoShopSaltIsNoSecret42"  # the password is printed on the sign-in page; a fixed salt keeps two fills alike

PEOPLE = (  # name to sign in with, first name, last name, roles, units, decimal sign, approval limit in cents, rate in cents
    ("marta", "Marta", "Vindelev", (MANAGER,), "metric", ".", 1_000_000, 6200),
    ("olof", "Olof", "Tjärnmark", (OFFICE,), "metric", ",", None, 4100),
    ("tilde", "Tilde", "Ravnsholt", (TECHNICIAN,), "metric", ".", None, 5400),
    ("kaisa", "Kaisa", "Lummerfelt", (TECHNICIAN, KEEPER), "metric", ",", None, 5600),
    ("piet", "Piet", "van Doornhoek", (PARTS,), "metric", ".", None, 4000),
)
GONE = ("walt", "Walt", "Ferriday", (TECHNICIAN,), "us", ".", None, 5200)  # left the shop; his tests stay
HANDS = (  # technicians of the plan: name, account, skills, hours a week
    ("Tilde Ravnsholt", "tilde", ("hydraulics", "gauges", "field"), 38),
    ("Kaisa Lummerfelt", "kaisa", ("hydraulics", "gauges", "brakes"), 38),
    ("Emre Dalyanoğlu", None, ("hydraulics", "brakes"), 40),
    ("Jorunn Askeby", None, ("brakes", "field"), 30),
    ("Walt Ferriday", "walt", ("gauges", "field"), 40),
)
BAYS = (("Bay 1, high door", 4.6), ("Bay 2", 4.1), ("Bay 3, low", 3.3))


def make_people(book: Book) -> None:
    """Make roles, accounts, technicians and bays, and leave the mark that lets the sign-in page name them."""
    groups = {name: Group.objects.get_or_create(name=name)[0] for name in ROLES}
    kept = make_password(PASSWORD, salt=SALT)
    for row in (*PEOPLE, GONE):
        book.users[row[0]] = _account(row, kept, groups, book)
    _make_hands(book)
    Bay.objects.bulk_create(Bay(name=name, door_height_m=height) for name, height in BAYS)


def _account(row, kept: str, groups: dict, book: Book):
    name, first, last, roles, system, sign, limit, rate = row
    is_here = name != GONE[0]
    user = get_user_model().objects.create(
        username=name,
        first_name=first,
        last_name=last,
        is_active=is_here,
        password=kept if is_here else "!",
        date_joined=moment(book.span.start),
    )
    user.groups.set([groups[role] for role in roles])
    Person.objects.create(user=user, system=system, decimal_sign=sign, approval_limit_cents=limit, hourly_rate_cents=rate)
    return user


def _make_hands(book: Book) -> None:
    for name, account, skills, hours in HANDS:
        hand = Technician.objects.create(name=name, user=book.users.get(account), hours_per_week=hours, is_retired=account == GONE[0])
        hand.skills.set([book.skills[code] for code in skills])
        book.technicians[name.split()[0].lower()] = hand
    begin = book.span.as_of + timedelta(days=9)
    TimeAway.objects.create(technician=book.technicians["emre"], from_date=begin, to_date=begin + timedelta(days=11), reason="Leave")


def mark_file():
    return settings.VAR_DIR / "demo_accounts"


def leave_mark() -> None:
    """Let the sign-in page name the demo accounts."""
    mark_file().write_text(make_password(PASSWORD, salt=SALT), encoding="ascii")


def people_at_the_door() -> list[tuple[str, str]]:
    """Name and roles of every account that still has the printed demo password; none where this is no demo shop."""
    try:
        kept = mark_file().read_text(encoding="ascii")
    except OSError:
        return []
    accounts = get_user_model().objects.filter(password=kept, is_active=True).prefetch_related("groups").order_by("pk")
    return [(user.username, ", ".join(group.name for group in user.groups.all())) for user in accounts]
