from django.urls import URLPattern, URLResolver, include, path

from clients.views import files, keeping, merging

urlpatterns: list[URLPattern | URLResolver] = [
    path("", keeping.clients, name="clients"),
    path("new/", keeping.client_new, name="client-new"),
    path("<int:pk>/edit/", keeping.client_edit, name="client-edit"),
    path("<int:pk>/merge/", merging.client_merge, name="client-merge"),
    path("merges/<int:pk>/undo/", merging.client_unmerge, name="client-unmerge"),
    path("clients.csv", files.clients_csv, name="clients-csv"),
    path("clients.vcf", files.clients_vcf, name="clients-vcf"),
    path("import/", files.clients_import, name="clients-import"),
    path("", include("clients.sheets.urls")),
]
