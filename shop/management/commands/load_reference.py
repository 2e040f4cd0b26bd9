"""`python manage.py load_reference`: what any shop begins with and the demo does not invent. Safe to repeat."""

from django.core.management.base import BaseCommand
from django.db import transaction

from shop.tests.procedures import load_procedures


class Command(BaseCommand):
    help = "Put the test procedures on record. What is there already stays as it is."

    def handle(self, **options):
        with transaction.atomic():
            made = load_procedures()
        self.stdout.write(f"{made} procedures put on record." if made else "Every procedure was on record already.")
