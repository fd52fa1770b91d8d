from django.urls import path

from jobs.planning.fitting_in import views

urlpatterns = [path("", views.what_fits, name="what-fits")]
