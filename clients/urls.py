from django.urls import URLPattern, path

from clients import views
from clients.desk import views as desk
from clients.sheets import own
from clients.sheets import views as sheets

urlpatterns: list[URLPattern] = [
    path("", views.clients, name="clients"),
    path("new/", views.client_new, name="client-new"),
    path("<int:pk>/edit/", views.client_edit, name="client-edit"),
    path("contacts/<int:pk>/first/", views.contact_first, name="contact-first"),
    path("<int:pk>/household/", views.client_household, name="client-household"),
    path("merges/<int:pk>/undo/", views.client_unmerge, name="client-unmerge"),
    path("history/<int:pk>/undo/", views.client_undo, name="client-undo"),
    path("clients.csv", views.clients_csv, name="clients-csv"),
    path("clients.vcf", views.clients_vcf, name="clients-vcf"),
    path("import/", desk.clients_import, name="clients-import"),
    path("import/<int:pk>/", desk.clients_file, name="clients-file"),
    path("import/<int:pk>/not-taken.csv", desk.clients_file_refused, name="clients-file-refused"),
    path("<int:pk>/sheets/", sheets.sheets, name="sheets"),
    path("<int:pk>/sheets/new/", sheets.sheet_new, name="sheet-new"),
    path("<int:pk>/sheets/sheets.csv", sheets.sheets_csv, name="sheets-csv"),
    path("<int:pk>/sheets/import/", sheets.sheets_import, name="sheets-import"),
    path("sheets/<int:pk>/", sheets.sheet, name="sheet"),
    path("sheets/<int:pk>/correct/", sheets.sheet_correct, name="sheet-correct"),
    path("sheets/<int:pk>/card/<slug:size>/", sheets.sheet_card, name="sheet-card"),
    path("measures/", sheets.how_to_measure, name="how-to-measure"),
    path("measures/own/", own.own_measures, name="own-measures"),
    path("measures/own/new/", own.own_measure_new, name="own-measure-new"),
    path("measures/own/<int:pk>/", own.own_measure, name="own-measure"),
    path("measures/sets/new/", own.measure_set_new, name="measure-set-new"),
    path("measures/sets/<int:pk>/", own.measure_set, name="measure-set"),
    path("measures/ranges/", sheets.measure_ranges, name="measure-ranges"),
]
