"""The one page on which something small is written."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import redirect, render

from jobs.makes.models import Release
from jobs.makes.releases.errors import ReleaseError
from studio.shop.http import StudioRequest


@dataclass(frozen=True)
class Writing:
    """What stands over the form, and where its row can be taken off."""

    title: str
    back: str
    off: str = ""


def write(
    request: StudioRequest, form: BaseForm, writing: Writing, act: Callable[[dict[str, Any]], Any]
) -> HttpResponse:
    """Show the form, or ``act`` on what it says and go back to where it belongs."""
    if request.method == "POST" and form.is_valid():
        try:
            done = act(form.cleaned_data)
        except ReleaseError as wrong:
            form.add_error(None, str(wrong))
        else:
            return redirect(done if isinstance(done, Release) else writing.back)
    return render(request, "makes/releases/form.html", {"form": form, "writing": writing})


def attempt(request: StudioRequest, act: Callable[[], Any], said: str = "") -> bool:
    """Take a step; what cannot be done is said on the next page."""
    try:
        act()
    except ReleaseError as wrong:
        messages.error(request, str(wrong))
        return False
    if said:
        messages.success(request, said)
    return True
