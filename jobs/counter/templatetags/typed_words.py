"""What the owner typed and papers say as it was typed, in every language."""

from django import template

from jobs.pricing.queries import offered_operations
from studio.shop.models import Profile, TaxClass

register = template.Library()


@register.simple_tag
def typed_words(studio: Profile) -> str:
    """``124 operations, terms, 2 names of taxes``; empty before anything is typed. Two queries."""
    counted = (
        (offered_operations(), "operation", "operations"),
        (1 if studio.terms else 0, "terms", "terms"),
        (TaxClass.objects.count(), "name of a tax", "names of taxes"),
    )
    return ", ".join(
        one if one == several else f"{count} {one if count == 1 else several}"
        for count, one, several in counted
        if count
    )
