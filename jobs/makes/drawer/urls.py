from django.urls import path

from jobs.makes.drawer import views

urlpatterns = [
    path("", views.pattern_list, name="pattern-list"),
    path("new/", views.pattern_new, name="pattern-new"),
    path("<int:pk>/", views.pattern, name="pattern"),
    path("<int:pk>/edit/", views.pattern_edit, name="pattern-edit"),
    path("<int:pk>/away/", views.pattern_away, name="pattern-away"),
    path("<int:pk>/back/", views.pattern_back, name="pattern-back"),
]
