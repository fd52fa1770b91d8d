from django.urls import path

from jobs.counter.year import views

urlpatterns = [
    path("", views.year, name="year"),
    path("<int:year>/", views.year, name="year-of"),
    path("<int:year>/hours/", views.hours, name="year-hours"),
    path("<int:year>/income/", views.income, name="year-income"),
    path("<int:year>/journal/", views.journal, name="journal"),
]
