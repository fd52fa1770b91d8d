from django.urls import path

from jobs.pricing import names, views
from jobs.pricing.models import GarmentKind, Operation, Surcharge

KIND, OPERATION, SURCHARGE = {"model": GarmentKind}, {"model": Operation}, {"model": Surcharge}

urlpatterns = [
    path("", views.prices, name="prices"),
    path("rules/", views.rules, name="price-rules"),
    path("order/", views.order, name="price-order"),
    path("names/<str:code>/", names.names, name="price-names"),
    path("changes/", views.changes, name="price-changes"),
    path("changes/undo/", views.undo, name="price-undo"),
    path("start/", views.start, name="price-start"),
    path("prices.csv", views.prices_csv, name="prices-csv"),
    path("surcharges.csv", views.surcharges_csv, name="surcharges-csv"),
    path("import/", views.import_list, name="prices-import"),
    path("garments/new/", views.kind_new, name="price-kind-new"),
    path("garments/<int:pk>/", views.kind, name="price-kind"),
    path("garments/<int:pk>/move/", views.move, KIND, name="price-kind-move"),
    path("garments/<int:pk>/remove/", views.remove, KIND, name="price-kind-remove"),
    path("garments/<int:pk>/new/", views.operation_new, name="price-operation-new"),
    path("operations/<int:pk>/", views.operation, name="price-operation"),
    path("operations/<int:pk>/move/", views.move, OPERATION, name="price-operation-move"),
    path("operations/<int:pk>/remove/", views.remove, OPERATION, name="price-operation-remove"),
    path("surcharges/new/", views.surcharge_new, name="price-surcharge-new"),
    path("surcharges/<int:pk>/", views.surcharge, name="price-surcharge"),
    path("surcharges/<int:pk>/move/", views.move, SURCHARGE, name="price-surcharge-move"),
    path("surcharges/<int:pk>/remove/", views.remove, SURCHARGE, name="price-surcharge-remove"),
]
