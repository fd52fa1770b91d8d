from django.urls import URLPattern, path

from studio.counter.views.client import client
from studio.counter.views.setup import setup
from studio.counter.views.ticket import ticket

urlpatterns: list[URLPattern] = [
    path("setup/", setup, name="setup"),
    path("t/<slug:number>/", ticket, name="ticket"),
    path("clients/<int:pk>/", client, name="client"),
]
