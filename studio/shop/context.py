"""What every template may use."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest


def studio(request: HttpRequest) -> dict[str, Any]:
    user = getattr(request, "user", None)
    return {
        "studio": getattr(request, "studio", None),
        "sees_money": bool(user and user.is_authenticated and user.is_owner),
        "demo": settings.DEMO,
    }
