"""One rule for a typed number: decimal comma and decimal point are both understood, and a doubtful figure is asked about, not guessed."""

from __future__ import annotations

import math
import re

SPACES = " \u00a0\u2009\u202f"
APOSTROPHES = "'\u2019"
NUMBER = re.compile(r"(?P<sign>[+-]?)(?P<body>[0-9.,]+)(?P<power>[eE][+-]?[0-9]{1,4})?")
GROUPED_BY = {separator: re.compile(rf"[0-9]{{1,3}}(?:{re.escape(separator)}[0-9]{{3}})+") for separator in (".", ",", " ", "'")}
DOUBTFUL = re.compile(r"(?P<whole>[1-9][0-9]{0,2})(?P<separator>[.,])(?P<rest>[0-9]{3})")
LONGEST = 40


class NumberRefused(ValueError):
    """A text that is no number; the message is one sentence for the person who typed it."""


class DoubtfulNumber(NumberRefused):
    """A text that is a number in two ways; the message names both."""


def read_number(text: str, decimal: str | None = None) -> float:
    """Return the number a person typed.

    Parameters
    ----------
    text : str
        Figure as typed; digits may be grouped in threes by a space, an apostrophe, a point or a comma [-]
    decimal : str or None
        Decimal sign, `.` or `,`, where the form or the file states it; None to find out from the text [-]

    Returns
    -------
    number : float
        The number; DoubtfulNumber if the text reads in two ways, NumberRefused if in none [-]

    Examples
    --------
    >>> read_number("1 234,5"), read_number("1,234.5"), read_number("20.6")
    (1234.5, 1234.5, 20.6)
    >>> read_number("1,234")
    Traceback (most recent call last):
    calcs.figures.DoubtfulNumber: "1,234" may mean 1234 or 1.234: please write 1234 or 1.2340.

    Source
    ------
    Grouping and decimal signs as in ISO 80000-1, 7.3, and in everyday use; our own rule for doubt.
    """
    if decimal not in (None, ".", ","):
        raise ValueError(f"decimal must be '.', ',' or None, got {decimal!r}")
    shown = text.strip()
    refuse_odd_signs(shown)
    grouped = "".join(" " if sign in SPACES else "'" if sign in APOSTROPHES else sign for sign in shown.replace("\u2212", "-"))
    whole, spaced = join_groups(grouped, shown)
    found = NUMBER.fullmatch(whole)
    if not found:
        raise NumberRefused(f'"{shown}" is not a number.')
    sign = decimal or decimal_sign(found["body"], shown, settled=spaced or bool(found["power"]))
    return finite(found["sign"] + with_point(found["body"], sign, shown) + (found["power"] or ""), shown)


def refuse_odd_signs(shown: str) -> None:
    """Refuse a text that cannot be a number, with the reason.

    Parameters
    ----------
    shown : str
        Text as typed, without space around it [-]

    Returns
    -------
    nothing : None
        Silence if all is well [-]

    Examples
    --------
    >>> refuse_odd_signs("1_000")
    Traceback (most recent call last):
    calcs.figures.NumberRefused: "1_000" has the sign "_" in it, which no number has.

    Source
    ------
    House rule.
    """
    if not shown:
        raise NumberRefused("Nothing is written here.")
    if len(shown) > LONGEST:
        raise NumberRefused(f"This is longer than {LONGEST} signs and cannot be a reading.")
    if shown.lower().lstrip("+-") in ("nan", "inf", "infinity"):
        raise NumberRefused(f'"{shown}" is not a finite number.')
    for sign in shown:
        if sign not in "0123456789+-.,eE\u2212" + SPACES + APOSTROPHES:
            raise NumberRefused(f'"{shown}" has the sign "{sign}" in it, which no number has.')
    if not any(sign in "0123456789" for sign in shown):
        raise NumberRefused(f'"{shown}" has no digit in it.')


def join_groups(text: str, shown: str) -> tuple[str, bool]:
    """Return a text without the spaces or apostrophes that group its digits, and whether there were any.

    Parameters
    ----------
    text : str
        Text with plain spaces and straight apostrophes [-]
    shown : str
        Text as typed, for the refusal [-]

    Returns
    -------
    joined : tuple
        Text without grouping, and whether it had any [-]

    Examples
    --------
    >>> join_groups("1'234.5", "1'234.5")
    ('1234.5', True)

    Source
    ------
    ISO 80000-1, 7.3.1: groups of three digits from the decimal sign.
    """
    for separator in (" ", "'"):
        if separator in text:
            whole = re.split(r"[.,eE]", text.lstrip("+-"), maxsplit=1)[0]
            rest = text.lstrip("+-")[len(whole) :]
            if not GROUPED_BY[separator].fullmatch(whole) or separator in rest or "'" in rest:
                raise NumberRefused(f'"{shown}" is not grouped in threes, so it is not clear which number is meant.')
            return text.replace(separator, ""), True
    return text, False


def decimal_sign(body: str, shown: str, settled: bool) -> str:
    """Return which of point and comma is the decimal sign of a figure.

    Parameters
    ----------
    body : str
        Digits, points and commas [-]
    shown : str
        Text as typed, for the question [-]
    settled : bool
        True if something else already shows that a lone sign is the decimal sign, as grouping by spaces does [-]

    Returns
    -------
    sign : str
        `.` or `,` [-]

    Examples
    --------
    >>> decimal_sign("1.234,5", "1.234,5", settled=False)
    ','

    Source
    ------
    Our own rule: where both stand, the last one is decimal; a sign that stands twice groups.
    """
    if "." in body and "," in body:
        return max(".,", key=body.rfind)
    lone = "," if "," in body else "."
    if body.count(lone) > 1:
        return "." if lone == "," else ","
    doubt = DOUBTFUL.fullmatch(body)
    if doubt and not settled:
        whole, rest = doubt["whole"], doubt["rest"]
        raise DoubtfulNumber(f'"{shown}" may mean {whole}{rest} or {whole}.{rest}: please write {whole}{rest} or {whole}.{rest}0.')
    return lone


def with_point(body: str, sign: str, shown: str) -> str:
    """Return a figure with a decimal point and without grouping.

    Parameters
    ----------
    body : str
        Digits, points and commas [-]
    sign : str
        Decimal sign of this figure [-]
    shown : str
        Text as typed, for the refusal [-]

    Returns
    -------
    figure : str
        Digits with at most one point [-]

    Examples
    --------
    >>> with_point("1.234,5", ",", "1.234,5")
    '1234.5'

    Source
    ------
    House rule.
    """
    whole, _, rest = body.partition(sign)
    group = "," if sign == "." else "."
    if group in rest or sign in rest:
        raise NumberRefused(f'"{shown}" is not a number with the decimal sign "{sign}".')
    if group in whole and not GROUPED_BY[group].fullmatch(whole):
        raise NumberRefused(f'"{shown}" is not a number with the decimal sign "{sign}".')
    return whole.replace(group, "") + "." + rest


def finite(figure: str, shown: str) -> float:
    """Return a figure as a number that is not beyond all measure.

    Parameters
    ----------
    figure : str
        Digits with at most one decimal point, maybe a power of ten [-]
    shown : str
        Text as typed, for the refusal [-]

    Returns
    -------
    number : float
        The number [-]

    Examples
    --------
    >>> finite("1.5e3", "1.5e3")
    1500.0

    Source
    ------
    House rule.
    """
    number = float(figure)
    if not math.isfinite(number):
        raise NumberRefused(f'"{shown}" is beyond any reading.')
    return number
