"""What the owner typed and papers say as it was typed, in a language."""

from collections import Counter

from django import template

from jobs.pricing.names import TAXES, TERMS, names_on_offer, unnamed
from studio.shop.models import Profile
from studio.shop.words import own_words

register = template.Library()


@register.simple_tag
def typed_words(studio: Profile, code: str) -> str:
    """``124 of work, 1 of terms and sentences, 2 of taxes``; empty where nothing stays so.

    Five queries.
    """
    own = own_words(studio).get(code, {})
    counted: Counter[str] = Counter()
    for section in names_on_offer(studio):
        kind = section.heading if section.heading in {TERMS, TAXES} else "Work"
        counted[kind] += unnamed([section], own)
    shown = ("Work", TERMS, TAXES)
    return ", ".join(f"{counted[kind]} of {kind.lower()}" for kind in shown if counted[kind])
