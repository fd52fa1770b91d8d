from django.urls import path

from jobs.tickets import views

urlpatterns = [
    path("tickets/", views.tickets, name="tickets"),
    path("t/<slug:number>/start/", views.start, name="ticket-start"),
    path("t/<slug:number>/all-done/", views.tick_all, name="ticket-tick-all"),
    path("t/<slug:number>/ready/", views.ready, name="ticket-ready"),
    path("t/<slug:number>/cancel/", views.cancel, name="ticket-cancel"),
    path("t/<slug:number>/undo/", views.undo, name="ticket-undo"),
    path("t/<slug:number>/promise/", views.move_promise, name="ticket-promise"),
    path("lines/<int:pk>/done/", views.tick, name="line-tick"),
    path("lines/<int:pk>/not-done/", views.untick, name="line-untick"),
    path("lines/<int:pk>/why-not/", views.why_not, name="line-why-not"),
    path("garments/<int:pk>/photo/", views.add_photo, name="garment-photo"),
    path("photos/<int:pk>/", views.photo, name="photo"),
]
