from django.urls import include, path

from jobs.tickets import views, views_cautions, views_papers

urlpatterns = [
    path("", include("jobs.tickets.fit.urls")),
    path("", include("jobs.tickets.marks.urls")),
    path("", include("jobs.tickets.initials.urls")),
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
    path("cautions/", views_cautions.cautions, name="cautions"),
    path("garments/<int:pk>/care/", views.note_care, name="garment-care"),
    path("garments/<int:pk>/worn/", views.note_worn, name="garment-worn"),
    path("garments/<int:pk>/read/", views.read_caution, name="caution-read"),
    path("photos/<int:pk>/", views.photo, name="photo"),
    path("t/<slug:number>/papers.pdf", views_papers.papers, name="ticket-papers"),
    path("t/<slug:number>/claim.pdf", views_papers.claim, name="ticket-claim"),
    path("t/<slug:number>/slip.pdf", views_papers.slip, name="ticket-roll"),
    path("t/<slug:number>/tags.pdf", views_papers.tags, name="ticket-tags"),
    path("t/<slug:number>/work-sheet.pdf", views_papers.work_sheet, name="ticket-work-sheet"),
    path(
        "t/<slug:number>/agreements/<int:version>.pdf",
        views_papers.agreement_paper,
        name="agreement-paper",
    ),
    path(
        "t/<slug:number>/agreements/<int:version>/claim.pdf",
        views_papers.agreement_claim,
        name="agreement-claim",
    ),
]
