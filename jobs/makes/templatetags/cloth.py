"""How pages and papers show lengths of cloth."""

from decimal import Decimal
from typing import Any

from django import template

from jobs.makes.lengths import show_cloth
from jobs.makes.models import Cloth
from jobs.makes.shares import ClothShares
from studio.shop.money import exact, round_half_up

register = template.Library()
register.filter("cloth_length", show_cloth)


@register.inclusion_tag("makes/shelf/_bar.html")
def cloth_bar(
    cloth: Cloth, shares: ClothShares, longest: Decimal | None = None, height: int = 36
) -> dict[str, Any]:
    """The cloth as a bar to scale: cut, meant, free and what is short follow each other.

    The whole width is ``longest`` mm, or all of this cloth; hundredths of a per cent are kept.
    """
    scale, at = exact(longest or shares.reach or 1), Decimal(0)

    def per_cent(mm: Decimal) -> str:
        return f"{Decimal(round_half_up(exact(mm) / scale * 10_000)).scaleb(-2):f}%"

    places = {}
    for name in ("cut", "meant", "free", "short"):
        mm = getattr(shares, name)
        places[name] = {"x": per_cent(at), "width": per_cent(mm)}
        at += mm
    left = {"x": per_cent(shares.cut), "width": per_cent(shares.meant + shares.free)}
    facts = {"cloth": cloth, "shares": shares, "places": places, "left": left}
    return facts | {"height": height, "tall": height + 6}
