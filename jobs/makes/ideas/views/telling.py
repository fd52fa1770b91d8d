"""After a step: what was done is said once, with a button that takes it back."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.urls import reverse

from jobs.makes.ideas.steps import Step
from studio.shop.http import StudioRequest


def done(request: StudioRequest, step: Step, back: str) -> HttpResponse:
    """Go on to the page ``back``; a step that changed nothing is passed over in silence."""
    if step.changed:
        told = {"step": step, "back": reverse("own") if step.added else back}
        messages.success(request, render_to_string("makes/ideas/_done.html", told, request))
    return redirect(back)


def refused(request: StudioRequest, form) -> None:
    """Say what was wrong with a small form that has no page of its own."""
    for field in form:
        for wrong in field.errors:
            messages.error(request, f"{field.label}: {wrong}")
