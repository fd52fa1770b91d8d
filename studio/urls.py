"""Every address of the program. Each app names its own; the counter holds the front door."""

from django.urls import include, path

urlpatterns = [
    path("", include("jobs.counter.urls")),
    path("", include("studio.shop.urls")),
    path("", include("studio.backup.urls")),
    path("clients/", include("clients.urls")),
    path("prices/", include("jobs.pricing.urls")),
    path("", include("jobs.tickets.urls")),
    path("", include("jobs.billing.urls")),
    path("", include("jobs.planning.urls")),
    path("", include("jobs.makes.urls")),
]

handler400 = "studio.shop.http.bad_request"
handler500 = "studio.shop.http.server_error"
handler404 = "jobs.counter.doors.not_found"
