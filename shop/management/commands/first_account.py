"""Make the shop's first manager. There is no default account; refused once a manager is there."""

import getpass
import os

from django.contrib.auth import get_user_model, password_validation
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from shop.people.actions import add_person
from shop.roles import MANAGER


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("--name", help="sign-in name; asked for when left out")

    def handle(self, *, name: str | None, **options):
        if get_user_model().objects.filter(groups__name=MANAGER, is_active=True).exists():
            raise CommandError("The shop has a manager. The manager adds others on the people page.")
        name = name or input("Sign-in name: ").strip()
        password = os.environ.get("SHOP_MANAGER_PASSWORD") or getpass.getpass("Password (10 signs or more): ")
        try:
            password_validation.validate_password(password, get_user_model()(username=name))
        except ValidationError as refusal:
            raise CommandError(" ".join(refusal.messages)) from refusal
        user = add_person(by=None, username=name, password=password, roles=[MANAGER])
        self.stdout.write(f"{user.username} may sign in as manager.")
