"""Lists: tables that know the studio, the columns they are made of, and pages of one size."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Count, QuerySet
from django.db.models.functions import Left
from django.http import HttpRequest
from django_tables2 import A, Column, RequestConfig, Table, TemplateColumn

from studio.shop.locales import show_day, show_minutes
from studio.shop.models import Profile
from studio.shop.money import format_money

__all__ = [
    "NUM", "PER_PAGE", "A", "Column", "DayColumn", "LinkColumn", "MinutesColumn", "MoneyColumn",
    "NumberColumn", "StudioTable", "TemplateColumn", "client_column", "initials", "show_page",
    "ticket_column",
]  # fmt: skip

PER_PAGE = 25
MOST_INITIALS = 60
NUM = {"th": {"class": "num"}, "td": {"class": "num"}}


class StudioTable(Table):
    """A table that knows the studio. ``hide`` names the columns that this reader does not see.

    On a phone a row folds into a strip: what it is about (``lead``) and its ``figure`` in one
    line, the rest below, ``named`` columns with their heading; those ``aside`` are left to the
    wider screen.
    Without a ``lead`` each cell stands below the other with its heading.
    """

    lead, figure = "", ""
    named: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()

    def __init__(
        self, *args: Any, studio: Profile, hide: tuple[str, ...] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, exclude=hide, **kwargs)
        self.studio = studio


class NumberColumn(Column):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, attrs=NUM, **kwargs)


class MoneyColumn(NumberColumn):
    """Minor units of the row's own currency, else of the studio's."""

    def render(self, value: int, record: Any, table: StudioTable) -> str:
        currency = getattr(record, "currency", table.studio.currency)
        return format_money(value, currency, table.studio.locale)


class MinutesColumn(NumberColumn):
    def render(self, value: int) -> str:
        return show_minutes(value)


class DayColumn(Column):
    def render(self, value: date | datetime, table: StudioTable) -> str:
        return show_day(value, table.studio.locale)


class LinkColumn(Column):
    """What leads to the page ``to``, which is found by the field ``by`` as that page names it."""

    def __init__(self, *args: Any, to: str, by: str = "pk", key: str = "", **kwargs: Any) -> None:
        super().__init__(*args, linkify=(to, {by: A(key or by)}), **kwargs)


def client_column(path: str = "client", **kwargs: Any) -> LinkColumn:
    """The client to whom ``path`` leads, in the order of names."""
    names = {"accessor": f"{path}__name", "order_by": f"{path}__name_key"}
    return LinkColumn("Client", to="client", key=f"{path}_id", **names, **kwargs)


def ticket_column(path: str = "ticket") -> LinkColumn:
    number = f"{path}__number"
    return LinkColumn("Ticket", to="ticket", by="number", key=number, accessor=number)


def show_page(table: Table, request: HttpRequest) -> None:
    """Order the table as the address asks and turn to its page.

    A page that is none is the first, one after the last is the last; the size is not for asking.
    """
    RequestConfig(request, paginate=False).configure(table)
    table.paginate(per_page=PER_PAGE)
    table.page = table.paginator.get_page(request.GET.get(table.prefixed_page_field))


@dataclass(frozen=True)
class Initial:
    """A first letter of a list in the order of names, and the page on which it begins."""

    letter: str
    page: int


def initials(rows: "QuerySet[Any]", key: str) -> list[Initial]:
    """The first letters of ``key``, by which ``rows`` are in order, each with its page.

    One query. Empty where there are more than MOST_INITIALS, as of a script with thousands: then
    they would be no shorter way than the pages.
    """
    counted = (
        rows.order_by().values(initial=Left(key, 1))
        .annotate(names=Count("pk", distinct=True)).order_by("initial")
    )  # fmt: skip
    letters, before = [], 0
    for initial, names in counted.values_list("initial", "names"):
        letters.append(Initial(initial, before // PER_PAGE + 1))
        before += names
    return letters if len(letters) <= MOST_INITIALS else []
