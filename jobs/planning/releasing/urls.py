from django.urls import path

from jobs.planning.releasing import views

urlpatterns = [
    path("", views.releases, name="releases"),
    path("<int:pk>/", views.release, name="release"),
    path("stages/<int:pk>/minutes/", views.stage_minutes, name="stage-minutes"),
    path("minutes/<int:pk>/off/", views.minutes_off, name="stage-minutes-off"),
]
