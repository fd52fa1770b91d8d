"""The components of the pages: pictures of garments, icons, bars, charts, and what a form refused.

Each is shown on ``/looks/`` and listed in DEVELOPERS.md.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass
from functools import lru_cache
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from django import forms, template
from django.contrib.messages import WARNING
from django.contrib.messages.storage.base import Message
from django.core.exceptions import NON_FIELD_ERRORS
from django.forms.formsets import BaseFormSet
from django.templatetags.static import static
from django.utils.functional import LazyObject
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from studio.shop.locales import show_minutes
from studio.shop.look.bars import Bar, Columns, Trend
from studio.shop.look.colours import dye
from studio.shop.look.garments import Drawing, draw
from studio.shop.together import Beside

register = template.Library()


@register.simple_tag
def icon(name: str) -> SafeString:
    """``{% icon "print" %}``: a symbol of icons.svg beside words; it says nothing by itself."""
    return format_html(
        '<svg class="icon" aria-hidden="true"><use href="{}#{}"/></svg>',
        static("studio/icons.svg"),
        name,
    )


@lru_cache(maxsize=4096)
def _drawn(kind: str, colour: str, work: tuple[tuple[str, int], ...]) -> Drawing:
    return draw(kind, colour, work)


def _svg(drawing: Drawing, size: str, named: bool) -> SafeString:
    marks = (
        format_html('<path class="sewn" stroke="{}" d="{}"/>', drawing.thread, drawing.marks)
        if drawing.marks
        else ""
    )
    return format_html(
        '<svg class="garment {}{}" viewBox="0 0 80 100" color="{}" {}><use href="{}#{}"/>{}</svg>',
        size,
        "" if drawing.known else " basted",
        drawing.dye,
        format_html('role="img" aria-label="{}"', drawing.words)
        if named
        else mark_safe('aria-hidden="true"'),
        static("studio/garments.svg"),
        drawing.symbol,
        marks,
    )


@register.simple_tag
def garment_drawing(
    kind: str, colour: str = "", work: Iterable[Any] = (), size: str = "tile", named: bool = False
) -> SafeString:
    """A garment by its words: ``{% garment_drawing "Skirt" "plum" lines "large" named=True %}``.

    ``work`` are names of operations, or anything with ``name`` and perhaps ``work_order``.
    """
    names = tuple(
        (line, 0) if isinstance(line, str) else (line.name, getattr(line, "work_order", 0) or 0)
        for line in work or ()
    )
    return _svg(_drawn(str(kind or ""), str(colour or ""), names), size, named)


@register.simple_tag
def garment_picture(garment: Any, size: str = "tile", named: bool = False) -> SafeString:
    """The garment's photograph where there is one, else its drawing with the work marked.

    Photographs and lines are looked at only where the query has fetched them already
    (``Ticket.objects.whole()``), so that no list asks for each row again.
    """
    fetched = getattr(garment, "_prefetched_objects_cache", {})
    photos = [*fetched.get("photos", ())]
    lines = [line for line in fetched.get("lines", ()) if not getattr(line, "removed_at", None)]
    drawing = _drawn(
        garment.kind_name, garment.colour, tuple((line.name, line.work_order) for line in lines)
    )
    if photos:
        return format_html(
            '<img class="garment {}" src="{}" alt="{}" loading="lazy">',
            size,
            photos[0].get_absolute_url(),
            drawing.words if named else "",
        )
    return _svg(drawing, size, named)


@register.inclusion_tag("look/tiles.html")
def garment_tiles(garments: Iterable[Any], most: int = 2, size: str = "tile") -> dict[str, Any]:
    """A few pictures side by side and how many more there are: ``{% garment_tiles garments %}``."""
    garments = list(garments)
    return {"garments": garments[:most], "more": max(0, len(garments) - most), "size": size}


@register.simple_tag
def dye_of(words: str) -> str:
    """The colour of a dot beside a colour word, or nothing."""
    return dye(words)


@register.inclusion_tag("look/bar.html")
def hours_bar(bar: Bar, legend: bool = True, table: bool = False) -> dict[str, Any]:
    """A bar of hours, its figures named below: ``{% hours_bar bar %}`` with a ``look.bars.Bar``."""
    return {"bar": bar, "legend": legend, "table": table}


@register.inclusion_tag("look/columns.html")
def columns_chart(
    chart: Columns, table: bool = True, legend: bool = True, height: int = 140
) -> dict[str, Any]:
    """Columns and the table behind: ``{% columns_chart takings %}`` with ``look.bars.Columns``."""
    return {"chart": chart, "table": table, "legend": legend, "height": height}


GLANCE = ("clients", "own", "free")
"""What of a week is said beside its little chart."""


@register.simple_tag
def week_chart(chart: Columns) -> SafeString:
    """The little chart of one of several weeks; give all the same ``most`` to compare them."""
    sums = [part for part in chart.kinds if part.kind in GLANCE]
    about = ", ".join(f"{part.kind} {show_minutes(int(part.amount))}" for part in sums)
    blocks = format_html_join(
        "",
        '<rect class="part {}" x="{}" y="{}" width="{}" height="{}"/>',
        ((block.kind, block.x, block.y, block.width, block.height) for block in chart.blocks),
    )
    return format_html('<svg height="64" role="img" aria-label="{}">{}</svg>', about, blocks)


@register.inclusion_tag("look/trend.html")
def trend_chart(chart: Trend, table: bool = True) -> dict[str, Any]:
    """A line and the table behind: ``{% trend_chart waist %}`` with a ``look.bars.Trend``."""
    return {"chart": chart, "table": table}


@register.filter
def minutes_or_words(amount: float | str) -> str:
    """An amount as the page says it; a bare number is minutes."""
    return amount if isinstance(amount, str) else show_minutes(int(amount))


MARKS = {
    "late": "late",
    "waits": "waits",
    "unmeasured": "not measured",
    "ready": "ready",
    "none": "",
}


@register.simple_tag
def mark(kind: str, words: str = "") -> SafeString:
    """A mark, a shape and a word: ``{% mark "waits" "waits: shoes" %}``; ``none`` has no shape."""
    return format_html('<span class="mark {}">{}</span>', kind, words or MARKS.get(kind, ""))


@register.inclusion_tag("look/empty.html")
def empty_page(words: str, kind: str = "", button: str = "", href: str = "") -> dict[str, str]:
    """What an empty page is for, and its one button."""
    return {"words": words, "kind": kind, "button": button, "href": href}


@register.simple_tag(takes_context=True)
def notices(context: template.Context) -> dict[str, list[Message]]:
    """What the last step had to say: ``good`` stands at the foot, ``wrong`` above the page."""
    said: dict[str, list[Message]] = {"good": [], "wrong": []}
    for message in context.get("messages") or ():
        said["wrong" if message.level >= WARNING else "good"].append(message)
    return said


@register.filter
def undo_of(message: Message) -> dict[str, Any] | None:
    """Where the Undo of a notice posts to and with which fields, or nothing (``http.say``)."""
    tags = (message.extra_tags or "").split(" ", 1)
    if tags[0] != "undo":
        return None
    address = urlsplit(tags[1])
    return {"action": address.path, "fields": parse_qsl(address.query)}


@dataclass(frozen=True)
class Refusal:
    """One thing that a form refused: what is wrong, at which field."""

    words: str
    label: str = ""
    field_id: str = ""


def _forms(value: Any, depth: int = 0) -> Iterator[Any]:
    """Forms and sets of forms in ``value``, also those in lists, mappings and dataclasses."""
    if isinstance(value, LazyObject):
        return  # To look at it would be to ask for it.
    if isinstance(value, forms.BaseForm):
        yield value
    elif isinstance(value, BaseFormSet):
        yield value
        yield from value.forms
    elif depth < 3:
        if isinstance(value, dict):
            inner: Iterable[Any] = value.values()
        elif isinstance(value, list | tuple):
            inner = value
        elif is_dataclass(value) and not isinstance(value, type):
            inner = [getattr(value, part.name, None) for part in fields(value)]
        else:
            return
        for part in inner:
            yield from _forms(part, depth + 1)


def _refusals(context: template.Context) -> list[Refusal]:
    """What every checked form of the page refused, in the order of their fields."""
    known = context.render_context.get("refusals")
    if known is not None:
        return known  # type: ignore[no-any-return]
    refusals: dict[Refusal, None] = {}
    values = [value for layer in context.dicts for value in layer.values()]
    for form in dict.fromkeys(_forms(values)):
        # A form that nobody has checked yet is not checked for the sake of the heading.
        if not form.is_bound or getattr(form, "_errors", None) is None:
            continue
        if isinstance(form, BaseFormSet):
            refusals |= {Refusal(str(words)): None for words in form.non_form_errors()}
            continue
        for name, errors in form.errors.items():
            field = form[name] if name != NON_FIELD_ERRORS and name in form.fields else None
            shown = field if field is not None and not field.is_hidden else None
            label = str(shown.label) if shown else ""
            field_id = (shown.id_for_label or f"{shown.auto_id}_0") if shown else ""
            for message in errors:
                words = message.words if isinstance(message, Beside) else str(message)
                refusals[Refusal(words, label, field_id)] = None
    context.render_context["refusals"] = list(refusals)
    return list(refusals)


@register.simple_tag(takes_context=True)
def error_prefix(context: template.Context) -> str:
    """``Error: `` before the title of a page whose form was refused."""
    return "Error: " if context.get("problems") or _refusals(context) else ""


@register.inclusion_tag("look/refused.html", takes_context=True)
def error_summary(context: template.Context) -> dict[str, Any]:
    """All that was refused, each with a link to its field; it takes the focus.

    A page that lists its ``problems`` itself, as the drop-off does within its form, is left to it.
    """
    return {"refusals": [] if context.get("problems") else _refusals(context)}
