"""Tests with a real server empty the database between them; the change record, rightly, refuses to be emptied. Here, and only here, the
triggers are taken away first; Django puts them back by `post_migrate` after the flush."""

from django.core.management.commands import flush

from shop.changes import triggers

_handle = flush.Command.handle


def handle(self, **options):
    triggers.uninstall()
    return _handle(self, **options)


flush.Command.handle = handle
