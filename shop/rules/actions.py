"""Acts on rules and figures of practice."""

from shop.acts import act
from shop.due.shop_figures import FIGURES
from shop.models import IntervalRule, SeasonBlock, ShopFigure
from shop.refusals import Refused


def retire_rule(*, by, rule: IntervalRule, version: int, token: str = "") -> IntervalRule:
    """Take a rule out of force; it stays on record with everything that was done under it."""
    with act("Rule retired", by=by, token=token) as frame:
        if rule.is_retired:
            raise Refused("This rule is retired already.")
        rule.is_retired = True
        rule.save_over(version)
        frame.made = rule
    return rule


def retire_season(*, by, block: SeasonBlock, version: int, token: str = "") -> SeasonBlock:
    """Let a season block hold no longer, or again."""
    with act("Season block retired" if not block.is_retired else "Season block taken up again", by=by, token=token) as frame:
        block.is_retired = not block.is_retired
        block.save_over(version)
        frame.made = block
    return block


def set_figures(*, by, values: dict, token: str = "") -> None:
    """Keep every figure of practice that was changed."""
    with act("Figures of practice set", by=by, token=token):
        for code in FIGURES:
            kept, _ = ShopFigure.objects.get_or_create(code=code, defaults={"value": FIGURES[code].usual})
            if kept.value != float(values[code]):
                kept.value = float(values[code])
                kept.save_over(kept.version)
