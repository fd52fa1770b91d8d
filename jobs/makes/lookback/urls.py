from django.urls import path

from jobs.makes.lookback import views

urlpatterns = [
    path("", views.look_back, name="look-back"),
    path("<int:pk>/answer/", views.answer, name="look-answer"),
    path("undo/", views.undo, name="look-undo"),
    path("pairs/", views.pairs, name="look-back-pairs"),
]
