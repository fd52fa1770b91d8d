from django.urls import URLPattern, URLResolver, include, path

from studio.counter.privacy.views import client_erase, client_export, client_privacy
from studio.counter.views.client import client
from studio.counter.views.drop_off import drop_off, drop_off_clients, ticket_change
from studio.counter.views.find import find
from studio.counter.views.pick_up import pick_up, ticket_pick_up
from studio.counter.views.setup import setup
from studio.counter.views.ticket import ticket
from studio.counter.views.today import today

urlpatterns: list[URLPattern | URLResolver] = [
    path("", today, name="today"),
    path("find/", find, name="find"),
    path("drop-off/", drop_off, name="drop-off"),
    path("drop-off/clients/", drop_off_clients, name="drop-off-clients"),
    path("setup/", setup, name="setup"),
    path("t/<slug:number>/", ticket, name="ticket"),
    path("t/<slug:number>/change/", ticket_change, name="ticket-change"),
    path("pick-up/", pick_up, name="pick-up"),
    path("t/<slug:number>/pick-up/", ticket_pick_up, name="ticket-pick-up"),
    path("clients/<int:pk>/", client, name="client"),
    path("clients/<int:pk>/privacy/", client_privacy, name="client-privacy"),
    path("clients/<int:pk>/privacy/export/", client_export, name="client-export"),
    path("clients/<int:pk>/privacy/erase/", client_erase, name="client-erase"),
    path("year/", include("studio.counter.year.urls")),
    path("year/", include("studio.counter.journal.urls")),
]
