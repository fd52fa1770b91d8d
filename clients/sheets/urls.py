from django.urls import URLPattern, path

from clients.sheets.views import files, pages, papers, ranges, taking

urlpatterns: list[URLPattern] = [
    path("<int:pk>/sheets/", pages.sheets, name="sheets"),
    path("<int:pk>/sheets/new/", taking.sheet_new, name="sheet-new"),
    path("<int:pk>/sheets/sheets.csv", files.sheets_csv, name="sheets-csv"),
    path("<int:pk>/sheets/import/", files.sheets_import, name="sheets-import"),
    path("sheets/<int:pk>/", pages.sheet, name="sheet"),
    path("sheets/<int:pk>/correct/", taking.sheet_correct, name="sheet-correct"),
    path("sheets/<int:pk>/card/<slug:size>/", papers.sheet_card, name="sheet-card"),
    path("measures/", papers.how_to_measure, name="how-to-measure"),
    path("measures/ranges/", ranges.measure_ranges, name="measure-ranges"),
]
