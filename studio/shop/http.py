"""The request as the views get it, for the type checker."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from studio.shop.models import Profile, User


class StudioRequest(HttpRequest):
    """A request of somebody who is logged in, in a studio that is set up."""

    user: User
    studio: Profile
    htmx: HtmxDetails
