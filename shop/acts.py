"""The frame of every act: one transaction, one person, one reason, counted once."""

from contextlib import contextmanager
from contextvars import ContextVar

from django.apps import apps
from django.db import IntegrityError, connection, transaction

from shop.models.changes import Act, CurrentAct
from shop.models.doors import FormToken

_running: ContextVar[Act | None] = ContextVar("running_act", default=None)


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


def _point_at(act_id: int | None) -> None:
    """Tell the database which act is writing; seen by this transaction alone."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT set_config('swashbook.act', %s, true)", [str(act_id or "")])
        return
    if not CurrentAct.objects.update(act_id=act_id):
        CurrentAct.objects.create(act_id=act_id)
