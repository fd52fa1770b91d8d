"""The week: what must be done, fittings, waiting work, and the owner's own hours."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
