"""The list of drive models."""

import django_tables2 as tables

from shop.drive_models.rows import FIGURES

NUM = {"td": {"class": "num"}, "th": {"class": "num"}}


class DriveModelTable(tables.Table):
    code = tables.Column(verbose_name="Model", linkify=("drive_model", {"pk": tables.A("pk")}))
    maker = tables.Column(verbose_name="Maker")
    circuit = tables.Column(verbose_name="Circuit")
    unit_count = tables.Column(verbose_name="Units in the book", attrs=NUM)
    known = tables.Column(verbose_name="Figures known", empty_values=(), orderable=False, attrs=NUM)
    sourced = tables.Column(verbose_name="With a source", attrs=NUM)

    class Meta:
        order_by = "code"
        empty_text = "No drive model yet. Add the first one with the figures of its maker's paper at hand."

    def render_known(self, record):
        return f"{sum(getattr(record, name) is not None for name in FIGURES)} of {len(FIGURES)}"
