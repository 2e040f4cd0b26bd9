"""The list of drives, and the readings of one drive."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join

from calcs.quantities import QUANTITIES
from shop.measures import HOUSE_UNITS, shown, spoken
from shop.templatetags.figures import hours, state

NUM = {"td": {"class": "num"}, "th": {"class": "num"}}


class DriveTable(tables.Table):
    tag = tables.Column(verbose_name="Shop tag", linkify=("drive", {"pk": tables.A("pk")}))
    serial = tables.Column(verbose_name="Serial")
    drive_model = tables.Column(
        verbose_name="Model", linkify=("drive_model", {"pk": tables.A("drive_model_id")}), order_by="drive_model__code"
    )
    place = tables.Column(verbose_name="Where it is", empty_values=(), orderable=False)
    component_h = tables.Column(verbose_name="Component hours", empty_values=(), orderable=False, attrs=NUM)
    verdicts = tables.Column(verbose_name="Latest verdicts", empty_values=(), orderable=False)

    class Meta:
        order_by = "tag"
        empty_text = "No drive answers to this. Take filters away, or add the unit."

    def render_place(self, record):
        if not record.places:
            return record.get_keeping_display()
        machine = record.places[0].machine
        return format_html('<a href="{}">{}</a><br><small>{}</small>', reverse("machine", args=[machine.pk]), machine, machine.customer)

    def render_component_h(self, record):
        return hours(self.hours_h.get(record.pk))

    def render_verdicts(self, record):
        found = self.verdicts.get(record.pk, [])
        counts = {}
        for verdict in found:
            counts.setdefault(verdict.state, []).append(verdict.words)
        if not counts:
            return state("not known", "not read yet")
        told = ((state(word), f" {words[0].lower()}" if len(words) == 1 else f" {len(words)}") for word, words in counts.items())
        return format_html_join("", "<div>{}<small>{}</small></div>", told)


class ReadingTable(tables.Table):
    tested = tables.Column(verbose_name="Tested", accessor="drive_test__tested_at")
    component_h = tables.Column(verbose_name="Component hours", accessor="drive_test__component_h", attrs=NUM)
    quantity = tables.Column(verbose_name="What was read")
    value = tables.Column(verbose_name="Reading", orderable=False, attrs=NUM)
    expected = tables.Column(verbose_name="Expected", empty_values=(), orderable=False, attrs=NUM)
    uncertainty = tables.Column(verbose_name="±", empty_values=(), orderable=False, attrs=NUM)
    state = tables.Column(verbose_name="Verdict", empty_values=(), orderable=False)
    conditions = tables.Column(verbose_name="Under", empty_values=(), orderable=False)

    class Meta:
        empty_text = "No reading yet. Log a visit on the machine and write down what was read."

    def __init__(self, *args, units=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.units = units or HOUSE_UNITS

    def figure(self, record, value):
        quantity = QUANTITIES.get(record.quantity)
        if value is None or quantity is None:
            return "–"
        return format_html("{}&nbsp;<small>{}</small>", shown(value, quantity.kind, self.units), spoken(self.units[quantity.kind]))

    def verdict(self, record):
        return record.verdicts[0] if record.verdicts else None

    def render_tested(self, value):
        return f"{value:%-d\u00a0%b\u00a0%Y}"

    def render_component_h(self, value):
        return hours(value)

    def render_quantity(self, record):
        label = QUANTITIES[record.quantity].label if record.quantity in QUANTITIES else record.quantity
        return f"{label}, {record.direction}" if record.direction else label

    def render_value(self, record):
        return self.figure(record, record.value)

    def render_expected(self, record):
        found = self.verdict(record)
        if found is None or found.expected is None:
            return "–"
        return format_html('<a class="worked" href="{}">{}</a>', reverse("working", args=[record.pk]), self.figure(record, found.expected))

    def render_uncertainty(self, record):
        """The expanded uncertainty is a difference: no offset of degrees."""
        found = self.verdict(record)
        return self.figure(record, found.uncertainty) if found and found.uncertainty is not None else "–"

    def render_state(self, record):
        found = self.verdict(record)
        return (
            format_html('<a href="{}">{}</a>', reverse("working", args=[record.pk]), state(found.state))
            if found
            else state("not known", "not judged")
        )

    def render_conditions(self, record):
        oil, speed = record.at_oil_temp_c, record.at_engine_speed_rpm
        told = [f"{shown(oil, 'temperature', self.units)} {spoken(self.units['temperature'])}"] if oil is not None else []
        told += [f"{shown(speed, 'speed', self.units)} rpm"] if speed is not None else []
        told += [record.instrument.tag] if record.instrument else []
        return ", ".join(words.replace(" ", "\u00a0").replace("-", "\u2011") for words in told) or "–"
