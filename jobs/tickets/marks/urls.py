from django.urls import path

from jobs.tickets.marks import views

urlpatterns = [
    path("photos/<int:pk>/marks/", views.photo_marks, name="photo-marks"),
    path("marks/<int:pk>/remove/", views.mark_remove, name="mark-remove"),
]
