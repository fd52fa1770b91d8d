"""What a page of the week says, read from its HTML."""

import re
from html import unescape

from django.http import HttpResponse


def beside(response: HttpResponse, field: str) -> str:
    """What is said beside a field, in words; ``field`` is the end of its id."""
    answer = re.search(rf'id="id_{field}_said">(.*?)</div>', response.text, re.DOTALL)
    assert answer, f"There is no field {field} on the page."
    return words(answer[1])


def notices(response: HttpResponse) -> list[str]:
    """The messages at the top of the page that a step leads to."""
    notices = re.findall(
        r'<(?:li|div) class="notice(?:-said"><span| [^"]*")>(.*?)</(?:li|span)>',
        response.text,
        re.DOTALL,
    )
    return [unescape(re.sub(r"<[^>]+>", "", notice)) for notice in notices]


def words(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def part(page: HttpResponse, label: str) -> str:
    """The words of the section whose heading has that id."""
    match = re.search(
        rf'<section[^>]*aria-label(?:ledby)?="{label}".*?</section>', page.text, re.DOTALL
    )
    assert match, f"There is no {label} on the page."
    return words(match[0])


def drawer(page: HttpResponse, title: str) -> str:
    """The words in the drawer of that title, its number among them."""
    match = re.search(
        rf"<(details|section)[^>]*>\s*<(?:summary|h3)>{title}.*?</\1>", page.text, re.DOTALL
    )
    assert match, f"There is no drawer {title} on the page."
    return words(match[0]).removeprefix(title).strip()


def day(page: HttpResponse) -> list[str]:
    """The rows of the day in words, the chalk line among them."""
    match = re.search(r'<section aria-labelledby="day">.*?</section>', page.text, re.DOTALL)
    rows = re.findall(r"^<li(.*?)</li>$", match[0] if match else "", re.DOTALL | re.MULTILINE)
    return [words(f"<li{row}") for row in rows]
