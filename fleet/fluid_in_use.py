"""Which oil is in a machine at a moment: worked out from the ledger of fills, litre by litre."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from calcs.drive_spec import Oil
from calcs.ledger import Fill, Portion, litres_by_product, mix_value, mix_viscosity, portions_after
from fleet.models import DriveTest, FluidFill, FluidProduct, Machine

LEDGER_KINDS = {
    FluidFill.Kind.FIRST: "first fill",
    FluidFill.Kind.CHANGE: "change",
    FluidFill.Kind.TOP_UP: "top-up",
    FluidFill.Kind.FLUSH: "flush",
}
NOT_KNOWN = "not known"
SMALLEST_SHARE = 0.005  # less than that of another product changes no figure that a gauge shows


@dataclass(frozen=True)
class OilInUse:
    """What is in: the oil as figures for reckoning, or None with the reason; the portions; each product with its litres."""

    oil: Oil | None
    reason: str = ""
    portions: tuple[Portion, ...] = ()
    litres: tuple[tuple[FluidProduct | None, float], ...] = ()

    @property
    def is_mixed(self) -> bool:
        return len(self.litres) > 1

    @property
    def name(self) -> str:
        return self.oil.name if self.oil else NOT_KNOWN


def fills_of(machine: Machine, until: datetime | None = None) -> list[FluidFill]:
    """Return the standing fills of a machine in order, up to a moment."""
    fills = FluidFill.objects.standing().of(machine).select_related("product").in_order()
    return list(fills.filter(filled_at__lte=until) if until else fills)


def oil_in(machine: Machine, at: datetime | None = None) -> OilInUse:
    """Return the oil in a machine at a moment, or now."""
    return oil_after(fills_of(machine, at), system_oil_l(machine))


def system_oil_l(machine: Machine) -> float | None:
    """Return the oil of the whole system, from the drive models fitted; None where no model states it."""
    stays = machine.installations.running().select_related("unit__drive_model")
    return max((stay.unit.drive_model.system_oil_l for stay in stays if stay.unit.drive_model.system_oil_l), default=None)


def oil_after(fills: Sequence[FluidFill], capacity_l: float | None = None) -> OilInUse:
    """Return the oil that is in after these fills."""
    if not fills:
        return OilInUse(None, "no fill is on record, so the oil is not known")
    portions = portions_after(ledger_of(fills, capacity_l), full_mark_l(fills, capacity_l))
    products = {str(fill.product.pk): fill.product for fill in fills if fill.product}
    litres = litres_by_product(portions)
    named = tuple((products.get(key), amount) for key, amount in litres.items() if amount >= SMALLEST_SHARE * sum(litres.values()))
    return OilInUse(*blend_of(portions, products, named), portions, named)


def full_mark_l(fills: Sequence[FluidFill], capacity_l: float | None) -> float | None:
    """Return the most that can be in: the model's figure, or more where more was filled at once."""
    return max(capacity_l, *(float(fill.fill_l) for fill in fills)) if capacity_l else None


def ledger_of(fills: Sequence[FluidFill], capacity_l: float | None = None) -> list[Fill]:
    """Return fills as lines of the ledger; hours that were not written, or run back, are those of the line before.

    Where the book begins with something else than a first fill, what was in before is oil not known. A measured drain that is more than the
    ledger holds emptied the system; a second first fill is a change of all that was in.
    """
    mark = full_mark_l(fills, capacity_l)
    lines = [] if fills[0].kind == FluidFill.Kind.FIRST else [_before_the_book(fills[0], capacity_l)]
    held_l = lines[0].in_l if lines else 0.0
    last_h = lines[0].life_h if lines else 0.0
    for fill in fills:
        last_h = max(last_h, float(fill.life_h)) if fill.life_h is not None else last_h
        lines.append(_line_of(fill, last_h, held_l))
        held_l = held_l - lines[-1].out_l + lines[-1].in_l
        held_l = min(held_l, mark) if mark else held_l
    return lines


def _before_the_book(first: FluidFill, capacity_l: float | None) -> Fill:
    held_l = max(float(first.drained_l), (capacity_l or 0.0) - float(first.fill_l - first.drained_l), 1.0)
    return Fill("first fill", float(first.life_h or 0), held_l, NOT_KNOWN)


def _line_of(fill: FluidFill, life_h: float, held_l: float) -> Fill:
    kind, out_l = LEDGER_KINDS[fill.kind], min(float(fill.drained_l), held_l)
    if kind == "first fill" and held_l:
        kind, out_l = "change", held_l
    return Fill(kind, life_h, float(fill.fill_l), str(fill.product_id) if fill.product_id else NOT_KNOWN, out_l)


def blend_of(portions, products: dict[str, FluidProduct], named) -> tuple[Oil | None, str]:
    """Return the mix as one oil, or None and the reason in a sentence."""
    if not named:
        return None, "the machine has been drained and not filled since"
    if any(product is None for product, _ in named):
        return None, "part of the oil in the machine is not known"
    blank = [str(product) for product, _ in named if product.nu40_mm2s is None or product.nu100_mm2s is None]
    if blank:
        return None, f"no viscosity is on record for {', '.join(blank)}"
    wanted = {str(product.pk) for product, _ in named}
    kept = [portion for portion in portions if portion.product in wanted]
    viscosity = [mix_viscosity(kept, {key: getattr(products[key], name) for key in wanted}) for name in ("nu40_mm2s", "nu100_mm2s")]
    dense = {key: products[key].density15_kgm3 for key in wanted if products[key].density15_kgm3}
    return Oil(" + ".join(str(product) for product, _ in named), *viscosity, mix_value(kept, dense)), ""


def oil_as_named(product: FluidProduct) -> OilInUse:
    """Return the oil that a tester named, on its own."""
    if product.nu40_mm2s is None or product.nu100_mm2s is None:
        return OilInUse(None, f"no viscosity is on record for {product}")
    return OilInUse(Oil(str(product), product.nu40_mm2s, product.nu100_mm2s, product.density15_kgm3), litres=((product, 0.0),))


def oil_of_test(test: DriveTest, fills: Sequence[FluidFill], capacity_l: float | None = None) -> OilInUse:
    """Return the oil of a test: the ledger's up to then, or the one the tester named where the ledger does not hold it."""
    found = oil_after([fill for fill in fills if fill.filled_at <= test.tested_at], capacity_l)
    if test.fluid is None or (found.oil and any(product == test.fluid for product, _ in found.litres)):
        return found
    return oil_as_named(test.fluid)
