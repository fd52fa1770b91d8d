from django.urls import path

from jobs.tickets.fit import views

urlpatterns = [
    path("garments/<int:pk>/fit/", views.garment_fit, name="garment-fit"),
    path("garments/<int:pk>/cloth/", views.garment_cloth, name="garment-cloth"),
    path("garments/<int:pk>/fit/<slug:kind>/", views.fit_sum, name="fit-sum"),
]
