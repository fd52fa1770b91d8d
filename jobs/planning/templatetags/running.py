"""The strip of the running clock."""

from typing import Any

from django import template

from jobs.planning.running import running_time

register = template.Library()


@register.inclusion_tag("planning/_running_strip.html", takes_context=True)
def running_strip(context: template.Context) -> dict[str, Any]:
    """What the clock of whoever looks runs for, with Pause and Done; nothing where none runs."""
    request = context.get("request")
    # A page that a form led to cannot always be opened again.
    back = request.get_full_path() if request is not None and request.method == "GET" else ""
    return {
        "running": running_time(context.get("user")),
        "back": back,
        "csrf_token": context.get("csrf_token"),
        "studio": context.get("studio"),
    }
