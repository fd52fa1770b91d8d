"""What every request passes: the content policy, the studio's profile and its clock, whole figures.

``studio_context`` is what every template may use of it.
"""

import logging
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse, HttpResponseBase, UnreadablePostError
from django.middleware.gzip import GZipMiddleware
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse

from studio.shop import clock, doctor
from studio.shop.doors import logins
from studio.shop.http import breakdown, health, is_own_form, sent_again, typed_in
from studio.shop.may import Tick
from studio.shop.models import Profile
from studio.shop.text import figures_whole

logger = logging.getLogger("django.request")
Handler = Callable[[HttpRequest], HttpResponse]


class HealthMiddleware:
    """Answers whoever asks whether the program is well, by whatever name; see ``http.health``.

    A proxy asks without a login, over plain HTTP, and often by an address that nobody else uses.
    """

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path == reverse("health"):
            return health(request)
        return self.get_response(request)


class ContentSecurityPolicyMiddleware:
    """Constant headers: nothing inline is ever allowed, and nothing private is kept.

    No browser and nobody between keeps a page or a paper, so that *Back* after logging out shows
    nothing. What says otherwise itself does so: pictures that never change, the login.
    """

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response
        self.policy = "; ".join(
            " ".join([name, *sources]) for name, sources in settings.SECURE_CSP.items()
        )

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", self.policy)
        response.headers.setdefault(
            "Permissions-Policy", "camera=(self), geolocation=(), microphone=()"
        )
        response.headers.setdefault("Cache-Control", "no-store, private")
        return response


class LastSeenMiddleware:
    """A page that is opened says that its login is in use; see ``studio.shop.doors.logins``."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if "text/html" in request.headers.get("Accept", ""):
            logins.note_seen(request)
        return self.get_response(request)


class LettersMiddleware:
    """Refuses what cannot be read as it was meant: other letters than UTF-8, or half a form.

    A server may hand on what had come before a connection was lost. Half a form is not the form:
    it would cost a try to log in, or save half of what was typed.
    """

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if letters := request.META.get("studio.letters"):
            raise BadRequest(
                f"It came in letters called “{letters[:40]}”; this program reads UTF-8."
            )
        announced = request.META.get("CONTENT_LENGTH") or "0"
        if request.content_type == "application/x-www-form-urlencoded" and announced.isdecimal():
            try:
                came = len(request.body)
            except UnreadablePostError:
                came = -1
            if came < int(announced):
                raise BadRequest("Only a part of it came: the connection was lost.")
        return self.get_response(request)


class CompressionMiddleware(GZipMiddleware):
    """Pages, tables and other texts go out compressed; pictures, papers and archives already are.

    Django blurs the length of what it compresses by up to a hundred random bytes, and writes the
    token of each form anew with every page, so that nobody can guess at a page's secrets by what
    it weighs (BREACH; docs.djangoproject.com, "Security in Django").
    """

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        if response.streaming or not response.headers.get("Content-Type", "").startswith("text/"):
            return response
        return super().process_response(request, response)


class UnbrokenMiddleware:
    """No line breaks within a figure, a day or a number of a page, whoever made its sentence."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        kind = response.headers.get("Content-Type", "")
        if kind.startswith("text/html") and not response.streaming:
            profile = getattr(request, "studio", None)
            text = figures_whole(response.text, profile.locale if profile else "en")
            response.content = text.encode(response.charset)
        return response


class StudioMiddleware:
    """Puts the profile on the request, sets the clock, and leads an empty studio to its set-up."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        profile = Profile.load()
        request.studio = profile  # type: ignore[attr-defined]
        clock.activate(profile)
        if profile is None and not request.path.startswith(reverse("setup")):
            return redirect("setup")
        newest = profile.newest_entry if profile else None
        if not clock.is_behind(newest):
            return self.get_response(request)
        request.clock_behind = newest  # type: ignore[attr-defined]
        sure = request.method == "POST" and "clock_is_right" in request.POST
        with clock.doubted(None if sure else newest):
            return self.get_response(request)


def studio_context(request: HttpRequest) -> dict[str, Any]:
    user = getattr(request, "user", None)
    return {
        "studio": getattr(request, "studio", None),
        "sees_prices": bool(user and user.is_authenticated and user.may(Tick.PRICES)),
        "demo": settings.DEMO,
    }


class KeepTypedMiddleware:
    """A clock to doubt, or what the doctor knows the cause of, is said to whoever sent a form.

    What was typed is on that page, to be sent again. The form's token was looked at before.
    """

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, wrong: Exception) -> HttpResponse | None:
        if isinstance(wrong, clock.ClockError):
            return _resend(request, "clock.html", 409)
        cause = doctor.cause_of(wrong)
        if cause is None or request.method != "POST":
            return None
        logger.error("%s: %s", cause.title, request.path, exc_info=wrong)
        return breakdown(request, cause, keeps=True)


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form whose token has gone stale (``reason`` is Django's): what was typed can be sent again.

    Only where the browser says that the form was the studio's own, and not from the login.
    """
    login = any(name.startswith("password") for name in request.POST)
    if is_own_form(request) and request.POST and not login and not request.FILES:
        return _resend(request, "403_csrf.html", 403)
    return render(request, "403_csrf.html", status=403)


def _resend(request: HttpRequest, template: str, status: int) -> HttpResponse:
    facts = {"typed": typed_in(request), "method": request.method, "now": clock.now()}
    page = render_to_string(template, {**facts, "path": request.get_full_path()}, request)
    return sent_again(request, page, status)
