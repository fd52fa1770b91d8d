"""Lists in pages of one size."""

from django.http import HttpRequest
from django_tables2 import RequestConfig, Table

PER_PAGE = 25


def show_page(table: Table, request: HttpRequest) -> None:
    """Order the table as the address asks and turn to its page.

    A page that is none is the first, one after the last is the last; the size is not for asking.
    """
    RequestConfig(request, paginate=False).configure(table)
    table.paginate(per_page=PER_PAGE)
    table.page = table.paginator.get_page(request.GET.get(table.prefixed_page_field))
