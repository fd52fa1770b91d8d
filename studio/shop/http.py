"""The request as the views get it, and the address under which paper says it is found."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.middleware import HtmxDetails

from studio.shop.models import Profile, User


class StudioRequest(HttpRequest):
    """A request of somebody who is logged in, in a studio that is set up."""

    user: User
    studio: Profile
    htmx: HtmxDetails


def absolute(request: HttpRequest, path: str) -> str:
    """The whole address of ``path``: under STUDIO_ADDRESS, else as this request was addressed."""
    return settings.ADDRESS + path if settings.ADDRESS else request.build_absolute_uri(path)


def sent(request: HttpRequest) -> QueryDict | None:
    """What a form was sent with, empty or not; None when it is only looked at."""
    return request.POST if request.method == "POST" else None


def go_back(request: HttpRequest, default: Any) -> HttpResponseRedirect:
    """To the page of this program that the form names as ``back``, else to ``default``."""
    back = request.POST.get("back", "")
    if back and url_has_allowed_host_and_scheme(back, allowed_hosts=None):
        return redirect(back)
    return redirect(default)
