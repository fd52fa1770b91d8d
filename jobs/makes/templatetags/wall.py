"""What forms of own sewing need that stand on many pages."""

from uuid import uuid4

from django import template

register = template.Library()


@register.simple_tag
def fresh_key() -> str:
    """A key by which a form that is sent twice counts once."""
    return str(uuid4())


@register.filter
def pens(pairs: str) -> list[tuple[str, str]]:
    """What a sheet has to draw with: ``"#a8403f:red 6:pen"`` is value and name of each."""
    return [(value, name) for pair in pairs.split() for value, _, name in [pair.partition(":")]]
