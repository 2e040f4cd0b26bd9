"""Figures on the page: in the person's own unit, with their digits, and states by word and shape."""

from django import template
from django.utils.html import format_html

from calcs.thousands import MINUS, THIN_SPACE, grouped
from shop.measures import HOUSE_UNITS, shown, spoken

register = template.Library()

STATE_SHAPES = {
    "inside": "●", "undecided": "◐", "outside low": "▼", "outside high": "▲", "not comparable": "○", "suspect instrument": "?", "impossible": "✕",
    "not due": "○", "due soon": "◔", "due": "◑", "overdue": "●", "over late limit": "■", "deferred": "↷", "blocked by season": "‖",
    "wearing": "▲", "jumped": "◣", "watch": "◐", "steady": "●", "too few": "○", "too few readings": "○", "not known": "○",
}  # fmt: skip


@register.simple_tag(takes_context=True)
def measure(context, value, kind, digits=None):
    """A house figure in the reader's unit, unit in small type."""
    if value is None or value == "":
        return "–"
    units = context.get("my_units") or HOUSE_UNITS
    unit = units.get(kind, HOUSE_UNITS.get(kind, ""))
    return format_html('<span class="fig">{}</span>&nbsp;<small>{}</small>', shown(value, kind, units, digits), spoken(unit))


@register.simple_tag(takes_context=True)
def unit_word(context, kind):
    units = context.get("my_units") or HOUSE_UNITS
    return spoken(units.get(kind, HOUSE_UNITS.get(kind, "")))


@register.simple_tag
def state(word, label=None):
    """A state as a shape and a word; the ink follows from the stylesheet and is never alone."""
    word = str(word)
    return format_html(
        '<span class="state" data-state="{}"><span aria-hidden="true">{}</span> {}</span>', word, STATE_SHAPES.get(word, "·"), label or word
    )


@register.filter
def hours(value):
    """Hours with one decimal and thin spaces between thousands."""
    return "–" if value is None or value != value else grouped(value, 1, fixed=True)


@register.filter
def money(cents):
    """Whole cents as units with two decimals."""
    if cents is None:
        return "–"
    whole, part = divmod(abs(int(cents)), 100)
    sign = MINUS if int(cents) < 0 else ""
    return f"{sign}{grouped(whole, 0)}.{part:02d}"


@register.filter
def look_up(mapping, key):
    return mapping.get(key) if mapping else None


@register.filter
def sensible(value):
    """A figure of a working: four digits that mean something, a list as its ends, words as they are."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return "–" if value is None else value
    if value and not 1e-3 <= abs(value) < 1e6:
        text = f"{value:.3e}".replace("e-0", "e-").replace("e+0", "e")
    else:
        text = f"{value:,.4g}" if abs(value) < 9999.5 else grouped(value, 0)
    return text.replace(",", THIN_SPACE).replace("-", MINUS)


@register.filter
def as_unit(unit):
    """A unit as it is written by hand: raised figures, a middle dot, a degree sign."""
    for plain, drawn in (("mm2", "mm²"), ("cm3", "cm³"), ("m3", "m³"), ("degC", "°C"), (".", "·")):
        unit = unit.replace(plain, drawn)
    return unit


@register.filter
def given_name(given):
    """What goes into a step, in words: the last word of a name is its unit, which stands after the figure already."""
    name, unit = (given["name"], given["unit"]) if isinstance(given, dict) else (given.name, given.unit)
    words = name.split("_")
    return " ".join(words[:-1] if len(words) > 1 and unit != "-" else words)
