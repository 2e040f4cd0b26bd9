"""A picture on the page. Every word in it was escaped when it was drawn."""

from django import template
from django.utils.safestring import mark_safe

from shop.printing.picture import svg

register = template.Library()


@register.simple_tag
def picture(shapes, title, description="", size=""):
    return mark_safe(svg(shapes, title, description, size))
