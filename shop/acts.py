"""The frame of every act: one transaction, one person, one reason, counted once."""

import logging
from contextlib import contextmanager
from contextvars import ContextVar

from django.apps import apps
from django.db import IntegrityError, connection, transaction

from shop.changes.triggers import CHAIN_LOCK
from shop.models.changes import Act, CurrentAct
from shop.models.doors import FormToken

_running: ContextVar[Act | None] = ContextVar("running_act", default=None)
log = logging.getLogger("shop.acts")


class AlreadyDone(Exception):
    """The same form was acted on before; `record` is what it made then, if anything."""

    def __init__(self, seen: FormToken):
        self.record = apps.get_model(seen.made_table)._base_manager.filter(pk=seen.made_row).first() if seen.made_table else None
        super().__init__("This form was sent before and has been acted on once.")


@contextmanager
def act(name: str, *, by, reason: str = "", token: str = ""):
    """Run the body as one act of `by`: all of it or nothing, with its change entries naming it.

    With a `token` the act counts once: a second one with the same token raises `AlreadyDone`. The body tells the frame what it made
    (`frame.made = record`). An act inside an act joins the outer one.
    """
    if _running.get() is not None:
        yield _running.get()
        return
    try:
        with transaction.atomic():
            one_writer_at_a_time()
            claim = FormToken.objects.create(token=token, used_by=by) if token else None
            frame = _begin(name, by, reason, token)
            try:
                yield frame
            finally:
                _running.set(None)
            _end(frame, claim)
    except IntegrityError:
        seen = FormToken.objects.filter(token=token).first() if token else None
        if seen is None:
            raise
        raise AlreadyDone(seen) from None


def done_before(token: str) -> AlreadyDone | None:
    """Return what a form with this token did when it was sent before, so that its fields need not be judged against their own result."""
    seen = FormToken.objects.filter(token=token).first() if token and "\0" not in token else None
    return AlreadyDone(seen) if seen else None


def _begin(name, by, reason, token) -> Act:
    frame = Act.objects.create(name=name, by=by, reason=reason, request_key=token)
    frame.made = None
    _point_at(frame.pk)
    _running.set(frame)
    return frame


def _end(frame, claim) -> None:
    if claim is not None and frame.made is not None:
        claim.made_table, claim.made_row = frame.made._meta.label, frame.made.pk
        claim.save(update_fields=["made_table", "made_row"])
    _point_at(None)
    transaction.on_commit(lambda: log.info("%s, by %s: %s", frame.name, frame.by or "the system", _told(frame.made)))


def _told(made) -> str:
    return f"{made._meta.label} {made.pk}" if made is not None else "no record of its own"


def one_writer_at_a_time() -> None:
    """Let acts follow one another on PostgreSQL, as they do on SQLite: each links its entries to the last, so two at once would block each other."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [CHAIN_LOCK])


def _point_at(act_id: int | None) -> None:
    """Tell the database which act is writing; seen by this transaction alone."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT set_config('swashbook.act', %s, true)", [str(act_id or "")])
        return
    if not CurrentAct.objects.update(act_id=act_id):
        CurrentAct.objects.create(act_id=act_id)
