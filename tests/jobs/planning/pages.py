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
    return [unescape(notice) for notice in notices]


def words(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())
