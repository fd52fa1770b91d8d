"""Who may see what."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase

View = Callable[..., HttpResponseBase]


def owner_only(view: View) -> View:
    """A helper gets the page that says so (403); nobody is sent to the login by the middleware."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.user.is_authenticated and not request.user.is_owner:
            raise PermissionDenied("Only the owner may open this page.")
        return view(request, *args, **kwargs)

    return guarded
