from django.urls import path

from jobs.pricing.models import GarmentKind, Operation, Surcharge
from jobs.pricing.views import entries, files, listed

KIND, OPERATION, SURCHARGE = {"model": GarmentKind}, {"model": Operation}, {"model": Surcharge}

urlpatterns = [
    path("", listed.prices, name="prices"),
    path("rules/", listed.rules, name="price-rules"),
    path("start/", listed.start, name="price-start"),
    path("prices.csv", files.prices_csv, name="prices-csv"),
    path("surcharges.csv", files.surcharges_csv, name="surcharges-csv"),
    path("import/", files.import_list, name="prices-import"),
    path("garments/new/", entries.kind_new, name="price-kind-new"),
    path("garments/<int:pk>/", entries.kind, name="price-kind"),
    path("garments/<int:pk>/move/", entries.move, KIND, name="price-kind-move"),
    path("garments/<int:pk>/remove/", entries.remove, KIND, name="price-kind-remove"),
    path("garments/<int:pk>/new/", entries.operation_new, name="price-operation-new"),
    path("operations/<int:pk>/", entries.operation, name="price-operation"),
    path("operations/<int:pk>/move/", entries.move, OPERATION, name="price-operation-move"),
    path("operations/<int:pk>/remove/", entries.remove, OPERATION, name="price-operation-remove"),
    path("surcharges/new/", entries.surcharge_new, name="price-surcharge-new"),
    path("surcharges/<int:pk>/", entries.surcharge, name="price-surcharge"),
    path("surcharges/<int:pk>/move/", entries.move, SURCHARGE, name="price-surcharge-move"),
    path("surcharges/<int:pk>/remove/", entries.remove, SURCHARGE, name="price-surcharge-remove"),
]
