"""Which keys of an address a page reads. A key that is never looked at cannot change the answer, so only those that are need trying one by one."""

from contextlib import contextmanager
from unittest.mock import patch

from django.core.handlers.wsgi import WSGIRequest
from django.http import QueryDict

EVERYTHING = object()  # the page goes through all keys, or reads the address as one text
WAYS_TO_ALL = (
    "__iter__", "__len__", "__eq__", "__repr__", "__copy__", "__deepcopy__", "items", "lists", "keys", "values", "dict", "copy", "urlencode",
)  # fmt: skip


class Noted:
    """Something read by keys that notes into `read` which ones were asked for."""

    read: set

    def __getitem__(self, key):
        self.note(key)
        return super().__getitem__(key)

    def __contains__(self, key):
        self.note(key)
        return super().__contains__(key)


class NotedQuery(Noted, QueryDict):
    def note(self, key) -> None:
        self.read.add(key)

    def _getlist(self, key, *more, **named):
        self.note(key)
        return super()._getlist(key, *more, **named)


def _through_all(name: str):
    def noted(self, *given, **named):
        self.read.add(EVERYTHING)
        return getattr(QueryDict, name)(self, *given, **named)

    return noted


for _name in WAYS_TO_ALL:
    setattr(NotedQuery, _name, _through_all(_name))


class NotedSurroundings(Noted, dict):
    """What the server tells of a request; its query is one text of all keys."""

    def note(self, key) -> None:
        if key == "QUERY_STRING":
            self.read.add(EVERYTHING)

    def get(self, key, *otherwise):
        self.note(key)
        return super().get(key, *otherwise)


@contextmanager
def keys_read():
    """Note every key that pages read while this lasts, into the set that is given back."""
    read = set()

    def begin(request, environ):
        plain(request, environ)
        request.__dict__["GET"] = NotedQuery(environ.get("QUERY_STRING", ""))
        request.__dict__["GET"].read = read
        request.META = request.environ = NotedSurroundings(environ)
        request.META.read = read

    plain = WSGIRequest.__init__
    with patch.object(WSGIRequest, "__init__", begin):
        yield read
