"""Lists: sorted and paged by the address, whatever stands in it."""

from django import forms
from django.forms.utils import flatatt
from django.utils.html import format_html, format_html_join

PER_PAGE = 25


def in_pages(table, request):
    """Sort `table` as the address asks and take its page; what the address cannot mean is left out."""
    wanted = request.GET.getlist(table.prefixed_order_by_field)
    if wanted:
        table.order_by = wanted
    table.paginate(per_page=PER_PAGE)
    table.page = table.paginator.get_page(request.GET.get(table.prefixed_page_field))
    return table


class LongSelect(forms.Select):
    """A choice among very many: written at one go, since a template for each of a thousand options takes longer than the list it filters."""

    def render(self, name, value, attrs=None, renderer=None):
        chosen = set(self.format_value(value))
        options = format_html_join(
            "\n",
            '<option value="{}"{}>{}</option>',
            ((key, " selected" if str(key) in chosen else "", words) for key, words in self.choices),
        )
        return format_html("<select{}>{}</select>", flatatt(self.build_attrs(self.attrs, {"name": name, **(attrs or {})})), options)


class FilterForm(forms.Form):
    """Filters of a list. What was asked for and cannot be is left out, not refused: a list is always shown."""

    def __init__(self, data=None, **kwargs):
        super().__init__(data or {}, **kwargs)
        for field in self.fields.values():
            field.required = False
            if isinstance(field, forms.ModelChoiceField):
                field.widget = LongSelect(choices=field.choices)

    def wanted(self) -> dict:
        """Return the filters that were set and understood."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value not in (None, "", False)}


def any_of(choices, words: str = "All"):
    """Return choices with an empty one in front."""
    return [("", words), *choices]
