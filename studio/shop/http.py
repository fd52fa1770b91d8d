"""Requests as the views get them, and who may see what."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import (
    BadRequest,
    DisallowedHost,
    PermissionDenied,
    SuspiciousOperation,
)
from django.db import DatabaseError, connection
from django.http import (
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    HttpResponseRedirect,
    QueryDict,
    RawPostDataException,
)
from django.http.multipartparser import MultiPartParserError
from django.middleware.csrf import get_token
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.urls import Resolver404, resolve
from django_htmx.middleware import HtmxDetails

from studio.shop import doctor
from studio.shop.may import Tick
from studio.shop.models import Profile, User

View = Callable[..., HttpResponseBase]


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


def say(request: HttpRequest, words: str, *, undo: str = "", **fields: object) -> None:
    """A notice at the foot of the next page; its Undo posts ``fields`` to the address ``undo``."""
    address = f"{undo}?{urlencode(fields)}" if fields else undo
    messages.success(request, words, extra_tags=f"undo {address}" if undo else "")


def go_back(request: HttpRequest, default: Any) -> HttpResponseRedirect:
    """To the page of this program that the form names as ``back``, else to ``default``.

    A form without an address of its own is sent to that of its page, which may name it as well.
    """
    back = request.POST.get("back") or request.GET.get("back", "")
    return redirect(back if is_own_path(back) else default)


def is_own_path(address: str) -> bool:
    """Whether it is a path of this program, which begins at its root: no scheme, no other host.

    Browsers take a backslash for a slash and leave out control characters (WHATWG, URL Standard,
    4.4), so that an address with either might lead elsewhere.
    """
    if not address.startswith("/") or address.startswith("//") or "\\" in address:
        return False
    if not address.isprintable():
        return False
    try:
        resolve(urlsplit(address).path)
    except (Resolver404, ValueError):
        return False
    return True


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page of what could not be understood, with the reason where there is one to tell."""
    why = ""
    if isinstance(exception, DisallowedHost):
        why = "It was sent to a name that STUDIO_HOSTS does not have."
    elif isinstance(exception, BadRequest):
        why = str(exception)
    return HttpResponse(render_to_string("400.html", {"why": why}), status=400)


SECRET = ("csrfmiddlewaretoken", "clock_is_right")
HIDDEN = ("password", "passphrase", "secret")


def typed_in(request: HttpRequest) -> list[tuple[str, str]]:
    """What a form was sent with, to be sent again; nothing that nobody may read over a shoulder."""
    try:
        sent = request.POST
    except (BadRequest, SuspiciousOperation, MultiPartParserError, OSError, RawPostDataException):
        return []
    return [
        (name, text)
        for name in sent
        if name not in SECRET and not any(word in name for word in HIDDEN)
        for text in sent.getlist(name)
    ]


def is_own_form(request: HttpRequest) -> bool:
    """Whether the browser says that a page of this program sent it.

    ``Sec-Fetch-Site`` comes with secure addresses only, ``Origin`` with every form (Fetch
    Standard, 3.2 and Fetch Metadata, 2.3).
    """
    if site := request.headers.get("Sec-Fetch-Site"):
        return site == "same-origin"
    origin = urlsplit(request.headers.get("Origin", "")).netloc
    return bool(origin) and origin == request.headers.get("Host")


def sent_again(request: HttpRequest, page: str, status: int) -> HttpResponse:
    """A ``page`` that says why a form was not taken, and has it to be sent again."""
    response = HttpResponse(page, status=status)
    if "HX-Request" in request.headers:
        # htmx shows no page that says it failed; it is given the whole page in place of a part.
        response.status_code = 200
        response.headers["HX-Retarget"], response.headers["HX-Reswap"] = "body", "innerHTML"
    return response


def server_error(request: HttpRequest) -> HttpResponse:
    """The page of a breakdown, with its cause where one is found, without the database."""
    return breakdown(request, doctor.breakdown(), keeps=is_own_form(request))


def breakdown(request: HttpRequest, cause: doctor.Cause | None, *, keeps: bool) -> HttpResponse:
    """What was typed is on the page where it ``keeps`` it: only of a form that is ours."""
    status = cause.status if cause else 500
    sent = cause is not None and keeps and request.method == "POST"
    read = request.method == "GET" and status != 500
    facts = {
        "cause": cause,
        "again": request.get_full_path() if sent or read else "",
        "sent": sent,
        "typed": typed_in(request) if sent else [],
        "csrf_token": get_token(request),
    }
    page = render_to_string("500.html", facts)
    response = sent_again(request, page, status) if sent else HttpResponse(page, status=status)
    if status == 503:
        response.headers["Retry-After"] = "30"
    return response


@login_not_required
def health(request: HttpRequest) -> HttpResponse:
    """For a proxy: 200 where program and database answer, else 503; nothing else is told."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return HttpResponse("no database\n", status=503, content_type="text/plain")
    return HttpResponse("well\n", content_type="text/plain")


def ticked(tick: Tick) -> Callable[[View], View]:
    """For the owner and for helpers with this ``tick``; others get the page that says so (403)."""

    def guard(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if request.user.is_authenticated and not request.user.may(tick):
                raise PermissionDenied(f"The owner has not ticked this for you: {tick.label}.")
            return view(request, *args, **kwargs)

        return _asking(guarded, tick.value, view)

    return guard


def _asking(guarded: View, what: str, view: View) -> View:
    """What a view asks of who opens it stands on it, so that the table of addresses can be told."""
    guarded.__dict__["asks"] = getattr(view, "asks", frozenset()) | {what}
    return guarded


def owner_only(view: View) -> View:
    """A helper gets the page that says so (403); nobody is sent to the login by the middleware."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.user.is_authenticated and not request.user.is_owner:
            raise PermissionDenied("Only the owner may open this page.")
        return view(request, *args, **kwargs)

    return _asking(guarded, "owner", view)
