from django.urls import path

from studio.counter.journal import views

urlpatterns = [path("<int:year>/journal/", views.journal, name="journal")]
