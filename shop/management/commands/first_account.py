"""Make the shop's first manager. There is no default account; refused once a manager is there."""

import getpass
import os

from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop.people.actions import add_person
from shop.people.forms import NewPersonForm
from shop.roles import MANAGER


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("--name", help="sign-in name; asked for when left out")

    def handle(self, *, name: str | None, **options):
        call_command("migrate", verbosity=0)
        if get_user_model().objects.filter(groups__name=MANAGER, is_active=True).exists():
            raise CommandError("The shop has a manager. The manager adds others on the people page.")
        try:
            name = name if name is not None else input("Sign-in name: ")
            password = os.environ.get("SHOP_MANAGER_PASSWORD") or getpass.getpass("Password (10 signs or more): ")
        except EOFError:
            raise CommandError("Nobody answered. Give --name, and the password in SHOP_MANAGER_PASSWORD.") from None
        form = NewPersonForm({"username": name, "password": password, "roles": [MANAGER]})
        if not form.is_valid():
            raise CommandError(" ".join(form.sentences()))
        user = add_person(by=None, username=form.cleaned_data["username"], password=password, roles=[MANAGER])
        self.stdout.write(f"{user.username} may sign in as manager.")
