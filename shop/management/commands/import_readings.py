"""Take in a sheet of readings: all rows or none, or the good ones only. The same file twice adds nothing."""

import hashlib
from pathlib import Path

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError

from shop.exchange.actions import judge_imported, record_readings
from shop.exchange.limits import MOST_BYTES
from shop.exchange.plans import Choices
from shop.exchange.reading_plan import plan_readings
from shop.refusals import Refused
from shop.roles import MANAGER, has_right


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--by", help="user name of the person who imports (default: the first manager)")
        parser.add_argument("--good-rows-only", action="store_true", help="write the good rows although others are refused")
        parser.add_argument("--decimal", choices=[".", ","], default="", help="decimal sign, where figures leave it open")
        order = parser.add_mutually_exclusive_group()
        order.add_argument("--day-first", action="store_true", help="03/04/2025 is 3 April")
        order.add_argument("--month-first", action="store_true", help="03/04/2025 is 4 March")
        parser.add_argument(
            "--put-right", default="", metavar="REASON", help="rows that differ from what stands correct it, for this reason"
        )
        parser.add_argument("--try", action="store_true", dest="only_try", help="look only, write nothing")

    def handle(self, *, file: Path, by, good_rows_only, decimal, day_first, month_first, put_right, only_try, **options):
        person = self._person(by)
        order = "day" if day_first else "month" if month_first else ""
        choices = Choices(decimal=decimal, day_order=order, good_rows_only=good_rows_only, put_right=put_right)
        try:
            body = file.read_bytes() if file.stat().st_size <= MOST_BYTES else b" " * (MOST_BYTES + 1)
            plan = plan_readings(body, person, choices)
            self._tell(plan)
            if not only_try and (good_rows_only or not plan.refused):
                self._write(person, plan, file, body, choices)
        except OSError as trouble:
            raise CommandError(f"{file} cannot be read: {trouble.strerror}.") from trouble
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        if plan.refused:
            took = "the others were written" if good_rows_only and not only_try else "nothing was written"
            raise CommandError(f"{len(plan.refused_lines)} of {plan.rows} rows were refused; {took}.")

    def _person(self, name: str | None):
        people = get_user_model().objects.filter(is_active=True).order_by("pk")
        found = people.filter(username=name).first() if name else people.filter(groups__name=MANAGER).first()
        if found is None:
            raise CommandError(f"Nobody here is called {name}." if name else "There is no manager yet: say who imports with --by NAME.")
        if not has_right(found, "import files"):
            raise CommandError(f"{found} may not import files.")
        return found

    def _tell(self, plan) -> None:
        for note in plan.notes:
            self.stdout.write(note)
        if plan.unknown:
            self.stdout.write(f"Columns that are not understood and not read: {', '.join(plan.unknown)}.")
        for refusal in plan.refused:
            where = f"line {refusal.line}" + (f", column {refusal.column}" if refusal.column else "")
            said = f" “{refusal.value[:60]}”" if refusal.value else ""
            instead = f" Write instead: {refusal.instead}." if refusal.instead else ""
            self.stdout.write(f"{where}:{said} {refusal.reason}{instead}")

    def _write(self, person, plan, file: Path, body: bytes, choices: Choices) -> None:
        reason = f"{file.name[:150]}, SHA-256 {hashlib.sha256(body).hexdigest()}"
        tests = record_readings(by=person, plan=plan, reason=reason, why_put_right=choices.put_right)
        judge_imported(tests)
        self.stdout.write(
            f"Written as {person}: {len(plan.fresh)} readings in {len(tests)} tests, {len(plan.amended)} put right; "
            f"{plan.known} were there already, {plan.doubles} stand twice in the file."
        )
