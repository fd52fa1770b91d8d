from django.urls import path

from jobs.makes.ideas.views import pictures

urlpatterns = [
    path("pictures/<int:pk>/", pictures.picture, name="own-picture"),
]
