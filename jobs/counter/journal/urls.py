from django.urls import path

from jobs.counter.journal import views

urlpatterns = [path("<int:year>/journal/", views.journal, name="journal")]
