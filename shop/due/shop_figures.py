"""Figures of practice that a shop sets for itself, with what is usual where it has set none."""

from dataclasses import dataclass

from calcs.severity import FACTOR_FLOOR
from calcs.shop_weeks import RESERVE
from shop.models import ShopFigure


@dataclass(frozen=True)
class Figure:
    """One figure of practice: what it is, what is usual, and what it may be."""

    label: str
    words: str
    usual: float
    least: float
    most: float


FIGURES = {
    "severity_floor": Figure("Least that severity factors may come to", "of the maker's interval", FACTOR_FLOOR, 0.1, 1.0),
    "reserve_season": Figure("Hours held back for breakdowns in season", "share of the week", RESERVE["season"], 0.0, 0.9),
    "reserve_winter": Figure("Hours held back for breakdowns out of season", "share of the week", RESERVE["winter"], 0.0, 0.9),
    "plan_weeks": Figure("Weeks that are planned at once", "weeks", 12, 1, 26),
    "call_cost": Figure("What a call out, warm-up and drain saved is worth", "in the shop's money", 90.0, 0.0, 10_000.0),
}  # usual figures: common practice, no source


def shop_figures() -> dict[str, float]:
    """Return every figure of practice as it holds now."""
    kept = dict(ShopFigure.objects.values_list("code", "value"))
    return {code: kept.get(code, figure.usual) for code, figure in FIGURES.items()}
