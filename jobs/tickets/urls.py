from django.urls import path

from jobs.tickets import views
from jobs.tickets.fit import views as fit
from jobs.tickets.fit.garment_sheet import garment_sheet

urlpatterns = [
    path("t/<slug:number>/start/", views.start, name="ticket-start"),
    path("t/<slug:number>/all-done/", views.tick_all, name="ticket-tick-all"),
    path("t/<slug:number>/ready/", views.ready, name="ticket-ready"),
    path("t/<slug:number>/cancel/", views.cancel, name="ticket-cancel"),
    path("t/<slug:number>/hand-back/", views.hand_back, name="ticket-hand-back"),
    path("t/<slug:number>/undo/", views.undo, name="ticket-undo"),
    path("t/<slug:number>/promise/", views.move_promise, name="ticket-promise"),
    path("lines/<int:pk>/done/", views.tick, name="line-tick"),
    path("lines/<int:pk>/not-done/", views.untick, name="line-untick"),
    path("lines/<int:pk>/why-not/", views.why_not, name="line-why-not"),
    path("lines/<int:pk>/measure/", views.measure, name="line-measure"),
    path("garments/<int:pk>/photo/", views.add_photo, name="garment-photo"),
    path("cautions/", views.cautions, name="cautions"),
    path("garments/<int:pk>/care/", views.note_care, name="garment-care"),
    path("garments/<int:pk>/hangs/", views.garment_hangs, name="garment-hangs"),
    path("garments/<int:pk>/worn/", views.note_worn, name="garment-worn"),
    path("garments/<int:pk>/read/", views.read_caution, name="caution-read"),
    path("photos/<int:pk>/", views.photo, name="photo"),
    path(
        "t/<slug:number>/agreements/<int:version>/initials/",
        views.agreement_initials,
        name="agreement-initials",
    ),
    path("initials/<int:pk>/", views.drawn_initials, name="drawn-initials"),
    path("photos/<int:pk>/marks/", views.photo_marks, name="photo-marks"),
    path("marks/<int:pk>/remove/", views.mark_remove, name="mark-remove"),
    path("garments/<int:pk>/fit/", fit.garment_fit, name="garment-fit"),
    path("garments/<int:pk>/cloth/", fit.garment_cloth, name="garment-cloth"),
    path("garments/<int:pk>/flat/", garment_sheet, name="garment-sheet"),
    path("garments/<int:pk>/fit/<slug:kind>/", fit.fit_sum, name="fit-sum"),
]
