"""What a table on a page says, read from the HTML as a person would."""

from html.parser import HTMLParser

from django.http import HttpResponse


class Cells(HTMLParser):
    """The words in each cell of each row; heading rows are left out."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.inside = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "tr":
            self.rows.append([])
        elif tag == "td":
            self.rows[-1].append("")
            self.inside = True

    def handle_endtag(self, tag: str) -> None:
        if tag == "td":
            self.inside = False

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.rows[-1][-1] += data


def cells(response: HttpResponse) -> list[list[str]]:
    """The rows of every table on the page, from top to bottom, one text for each cell."""
    found = Cells(response.content.decode()).rows
    return [[" ".join(cell.split()) for cell in row] for row in found if row]
