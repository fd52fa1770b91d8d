from django.urls import path

from jobs.tickets.initials import views

urlpatterns = [
    path(
        "t/<slug:number>/agreements/<int:version>/initials/",
        views.agreement_initials,
        name="agreement-initials",
    ),
    path("initials/<int:pk>/", views.drawn_initials, name="drawn-initials"),
]
