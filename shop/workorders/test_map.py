"""What goes with a test sheet that stands alone: the way round the machine port by port, the cautions in words, and the order of the tests."""

from calcs.quantities import QUANTITIES
from shop.cautions import DEFERS, cautions_of
from shop.workorders.expected import gauge_for
from shop.workorders.steps import Step

PORT_HEADS = (("Way", 0.5), ("Port", 0.7), ("Where", 3.2), ("Thread", 1.2), ("What is read there", 4.2), ("Gauge", 2.6))


def with_map(tests: dict, unit, facts) -> dict:
    """Return the rows of a sheet with its map of ports and the words of its cautions."""
    read = {row[0].split(" [")[0].split(" ", 1)[-1].split(",")[0] for row in tests["rows"]}  # labels without test and direction
    return tests | {
        "ports": [list(PORT_HEADS), port_rows(unit, facts, read)],
        "caution_words": [[f"{row.word.upper()} {row.code}", f"{row.title}. {row.words}"] for row in cautions_of(tests["cautions"])],
        "defers": DEFERS,
    }


def port_rows(unit, facts, read: set[str]) -> list[list[str]]:
    """Return each port that these steps need, once, in the order of walking round, with all that is read there."""
    ports: dict[str, list] = {}
    for port in sorted(unit.drive_model.ports.all(), key=lambda row: (row.walk_order, row.code)):
        label = label_at(port)
        if label in read:
            ports.setdefault(port.code, []).append(port)
    return [port_row(place, code, found, facts) for place, (code, found) in enumerate(ports.items(), start=1)]


def label_at(port) -> str:
    """Return what is read at a port, without the conditions that it is read under."""
    return QUANTITIES[port.quantity].label.split(",")[0] if port.quantity in QUANTITIES else port.quantity


def port_row(place: int, code: str, found: list, facts) -> list[str]:
    asked = ", ".join(dict.fromkeys(label_at(port) for port in found))
    gauges = ", ".join(sorted({gauge_words(port, facts) for port in found if port.quantity in QUANTITIES} - {""}))
    return [str(place), code, found[0].name, found[0].thread or "–", asked, gauges or "–"]


def gauge_words(port, facts) -> str:
    """The gauge in service that suits, else the span that the model names."""
    span = port.gauge_span_bar
    gauge = gauge_for(Step("", port.quantity), facts, span / 2.1 if span else None)
    if gauge is not None:
        return f"{gauge.tag} 0–{gauge.span_high:g} {gauge.unit}"
    return f"0–{span:g} bar" if span else ""
