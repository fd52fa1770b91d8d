"""What is written on releases. Their pages show hours as well, so those are the planning's."""

from collections.abc import Iterator

from django.urls import path
from django.urls.resolvers import URLPattern

from jobs.makes.releases.views import releases, rows, sales, stages
from studio.shop.access import owner_only


def _rows(kind: rows.Kind, places: str, *, money: bool = False) -> Iterator[URLPattern]:
    """Where rows of a kind are written, changed and taken off."""
    new, edit, off = map(owner_only, (rows.new, rows.edit, rows.off)) if money else (
        rows.new, rows.edit, rows.off,
    )  # fmt: skip
    told = {"kind": kind}
    yield path(f"<int:pk>/{places}/new/", new, told, name=f"{kind.name}-new")
    yield path(f"{places}/<int:pk>/", edit, told, name=kind.name)
    yield path(f"{places}/<int:pk>/off/", off, told, name=f"{kind.name}-off")


urlpatterns = [
    path("new/", releases.new, name="release-new"),
    path("<int:pk>/edit/", releases.edit, name="release-edit"),
    path("<int:pk>/money/", releases.money, name="release-money"),
    path("<int:pk>/published/", releases.published, name="release-published"),
    path("<int:pk>/put-away/", releases.put_away, name="release-put-away"),
    path("<int:pk>/stages/new/", stages.new, name="stage-new"),
    path("stages/<int:pk>/", stages.edit, name="stage"),
    path("stages/<int:pk>/move/", stages.move, name="stage-move"),
    path("stages/<int:pk>/done/", stages.done, name="stage-done"),
    path("stages/<int:pk>/off/", stages.off, name="stage-off"),
    *_rows(rows.TESTER, "testers"),
    *_rows(rows.ERRATUM, "errata"),
    path("errata/<int:pk>/mended/", rows.mended, name="erratum-mended"),
    *_rows(rows.COST, "costs", money=True),
    path("<int:pk>/sales/", sales.sales, name="sales"),
    path("<int:pk>/sales/file/", sales.sales_import, name="sales-import"),
    path("sales/<int:pk>/off/", sales.off, name="sale-off"),
]
