"""What the owner typed and papers say as it was typed, in a language."""

from django import template

from jobs.pricing.names import names_on_offer, unnamed
from studio.shop.models import Profile, TaxClass
from studio.shop.words import own_words

register = template.Library()


@register.simple_tag
def typed_words(studio: Profile, code: str) -> str:
    """``124 names of your work, terms, 2 names of taxes``; empty before anything is typed.

    Four queries.
    """
    counted = (
        (
            unnamed(names_on_offer(), own_words(studio).get(code, {})),
            "name of your work",
            "names of your work",
        ),
        (1 if studio.terms else 0, "terms", "terms"),
        (TaxClass.objects.count(), "name of a tax", "names of taxes"),
    )
    return ", ".join(
        one if one == several else f"{count} {one if count == 1 else several}"
        for count, one, several in counted
        if count
    )
