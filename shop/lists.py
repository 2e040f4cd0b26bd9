"""Lists: sorted and paged by the address, whatever stands in it."""

from django import forms

PER_PAGE = 25


def in_pages(table, request):
    """Sort `table` as the address asks and take its page; what the address cannot mean is left out."""
    wanted = request.GET.getlist(table.prefixed_order_by_field)
    if wanted:
        table.order_by = wanted
    table.paginate(per_page=PER_PAGE)
    table.page = table.paginator.get_page(request.GET.get(table.prefixed_page_field))
    return table


class FilterForm(forms.Form):
    """Filters of a list. What was asked for and cannot be is left out, not refused: a list is always shown."""

    def __init__(self, data=None, **kwargs):
        super().__init__(data or {}, **kwargs)
        for field in self.fields.values():
            field.required = False

    def wanted(self) -> dict:
        """Return the filters that were set and understood."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value not in (None, "", False)}


def any_of(choices, words: str = "All"):
    """Return choices with an empty one in front."""
    return [("", words), *choices]
