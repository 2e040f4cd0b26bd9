"""What the pages of fluids hold: a product with its viscosities, and the ledger of one machine."""

from dataclasses import dataclass

from calcs.fluid import viscosity_at
from calcs.grade import iso_vg_class, viscosity_index
from calcs.ledger import ever_had_other, hours_since_change, mean_age_h, old_share
from calcs.window import viscosity_word
from calcs.working import Working
from fleet.fluid_in_use import fills_of, ledger_of, oil_after, system_oil_l
from fleet.judged_hours import believed_hours
from fleet.models import FluidProduct, Machine

TEST_TEMPS_C = (50, 60, 70, 80)


@dataclass(frozen=True)
class AtTemperature:
    """Viscosity of an oil at one temperature, what a drive thinks of it, and the steps; no figure where it cannot be worked out."""

    oil_temp_c: int
    viscosity_mm2s: float | None
    word: str
    steps: list[dict]


def viscosities_of(nu40_mm2s, nu100_mm2s) -> list[AtTemperature]:
    """Return the viscosities at the four test temperatures, or none where the oil's figures are missing."""
    if nu40_mm2s is None or nu100_mm2s is None:
        return []
    return [_at(temp, nu40_mm2s, nu100_mm2s) for temp in TEST_TEMPS_C]


def _at(temp: int, nu40: float, nu100: float) -> AtTemperature:
    paper = Working()
    try:
        viscosity = paper.take(viscosity_at, oil_temp_c=float(temp), nu40_mm2s=nu40, nu100_mm2s=nu100)
    except ValueError as refused:
        return AtTemperature(temp, None, str(refused), [])
    return AtTemperature(temp, viscosity, viscosity_word(viscosity), paper.as_rows())


def product_page(product: FluidProduct) -> dict:
    known = product.nu40_mm2s is not None and product.nu100_mm2s is not None
    machines = Machine.objects.filter(fills__product=product, fills__superseded_by=None).distinct().select_related("customer")
    return {
        "fluid": product,
        "viscosities": viscosities_of(product.nu40_mm2s, product.nu100_mm2s),
        "index": index_of(product) if known else None,
        "grade": iso_vg_class(product.nu40_mm2s) if known else None,
        "machines": machines[:50],
    }


def index_of(product: FluidProduct) -> float | None:
    """Return the viscosity index, or None where the standard does not reach."""
    try:
        return viscosity_index(product.nu40_mm2s, product.nu100_mm2s)
    except ValueError:
        return None


def ledger_page(machine: Machine) -> dict:
    """Return the fills of a machine, what is in now, how old it is, and whether another oil was ever in."""
    fills, capacity_l = fills_of(machine), system_oil_l(machine)
    reading = believed_hours(machine)
    oil = oil_after(fills, capacity_l)
    lines = ledger_of(fills, capacity_l) if fills else []
    now_h = max([float(reading.life_h) if reading else 0.0, *(line.life_h for line in lines)], default=0.0)
    blend = oil.oil
    return {
        "machine": machine,
        "fills": fills,
        "oil": oil,
        "now_h": now_h,
        "capacity_l": capacity_l,
        "age_h": mean_age_h(oil.portions, now_h) if oil.portions else None,
        "since_change_h": hours_since_change(lines, now_h) if lines else None,
        "old_share": old_share(oil.portions) if oil.portions else None,
        "had_other": ever_had_other(lines, lines[-1].product) if lines else False,
        "viscosities": viscosities_of(blend.nu40_mm2s, blend.nu100_mm2s) if blend else [],
        "is_wide": any(product and product.has_viscosity_improver for product, _ in oil.litres) and oil.is_mixed,
    }
