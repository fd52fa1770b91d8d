"""The checklist of a new studio on Today."""

from typing import Any

from django import template

from jobs.counter.first_steps import first_steps as steps_of

register = template.Library()


@register.inclusion_tag("counter/_first_steps.html", takes_context=True)
def first_steps(context: template.Context) -> dict[str, Any]:
    """``{% load first_steps %}{% first_steps %}``: nothing for a helper, nor once all are done."""
    if not context.get("sees_money"):
        return {}
    steps = steps_of(context["studio"])
    done = sum(step.done for step in steps)
    return {"steps": steps if done < len(steps) else [], "done": done}
