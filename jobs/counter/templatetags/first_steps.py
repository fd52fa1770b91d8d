"""The checklist of a new studio on Today."""

from typing import Any

from django import template

from jobs.counter.first_steps import first_steps as steps_of
from jobs.counter.first_steps import open_steps

register = template.Library()


@register.inclusion_tag("counter/_first_steps.html", takes_context=True)
def first_steps(context: template.Context) -> dict[str, Any]:
    """``{% load first_steps %}{% first_steps %}``: small once something has come in.
    The page gives ``backup``, how the copies stand.

    Nothing for a helper, once all are done, or where the owner has put them away.
    """
    studio, small = context["studio"], not context.get("first_day", True)
    if not context["user"].is_owner or studio.steps_away:
        return {}
    steps = (open_steps if small else steps_of)(studio, context["backup"])
    left = [step for step in steps if not step.done]
    return {
        "steps": steps if left else [],
        "left": left,
        "done": len(steps) - len(left),
        "small": small,
        "csrf_token": context.get("csrf_token"),
    }
