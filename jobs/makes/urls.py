from django.urls import include, path

urlpatterns = [
    path("own/", include("jobs.makes.ideas.urls")),
    path("own/cloth/", include("jobs.makes.shelf.urls")),
    path("own/patterns/", include("jobs.makes.drawer.urls")),
    path("own/releases/", include("jobs.makes.releases.urls")),
    path("own/look-back/", include("jobs.makes.lookback.urls")),
]
