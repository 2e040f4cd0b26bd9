"""The log: one line an entry, times in UTC, and whatever somebody typed cannot begin a line of its own."""

import logging
import time
import unicodedata

log = logging.getLogger("shop.doors")


def one_line(text: object) -> str:
    """Return text with every sign that could break or steer a line written out."""
    return "".join(
        sign if unicodedata.category(sign)[0] not in "CZ" or sign == " " else sign.encode("unicode_escape").decode() for sign in str(text)
    )


class UtcLine(logging.Formatter):
    """Lines of the log; a traceback may follow below its line, set in."""

    converter = time.gmtime
    default_time_format = "%Y-%m-%dT%H:%M:%S"
    default_msec_format = "%s.%03dZ"

    def formatMessage(self, record):  # noqa: N802  the name is the library's
        record.message = one_line(record.message)
        return super().formatMessage(record)

    def formatException(self, ei):  # noqa: N802  the name is the library's
        """Set a traceback in, line by line: what somebody typed may stand in it."""
        return "\n".join(f"  | {one_line(line)}" for line in super().formatException(ei).splitlines())


def note_failed_sign_in(sender, credentials, request=None, **_more) -> None:
    """Note a refused sign-in: the name that was given and where from, never the password."""
    log.warning("sign-in refused: name %s, from %s", str(credentials.get("username", ""))[:150], address_of(request))


def note_locked_out(sender, request=None, username="", **_more) -> None:
    log.warning("sign-in locked for a while: name %s, from %s", str(username)[:150], address_of(request))


def note_refusal(request, status: int) -> None:
    """Note that a page was refused to somebody."""
    who = request.user.get_username() if getattr(request, "user", None) is not None and request.user.is_authenticated else "a stranger"
    log.warning("refused with %s: %s %s, to %s, from %s", status, request.method, request.path[:200], who, address_of(request))


def address_of(request) -> str:
    return request.META.get("REMOTE_ADDR", "nowhere") if request is not None else "nowhere"
