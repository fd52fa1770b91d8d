"""A card in a browser's window without scripts: what the page holds, and what is sent of it."""

from html.parser import HTMLParser
from typing import Any

from django.contrib.messages import get_messages
from django.test import Client


class Fields(HTMLParser):
    """The fields of the form that has one called ``opened``, and what its buttons are worth."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.fields: dict[str, list[str]] = {}
        self.intents: list[str] = []
        self._forms: list[tuple[dict[str, list[str]], list[str]]] = []
        self._area = self._select = ""
        self.feed(html)
        self.fields, self.intents = next(
            (fields, intents) for fields, intents in self._forms if "opened" in fields
        )

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {name: value or "" for name, value in attrs}
        name = attributes.get("name", "")
        if tag == "form":
            self._forms.append(({}, []))
        if not self._forms:
            return
        fields, intents = self._forms[-1]
        if tag == "select":
            self._select = name
            fields[name] = []
        elif tag == "option" and (not fields[self._select] or "selected" in attributes):
            # Of a list where nothing is chosen the browser sends the first.
            fields[self._select] = [attributes["value"]]
        elif tag == "textarea":
            self._area, fields[name] = name, [""]
        elif tag == "button" and name == "intent":
            intents.append(attributes["value"])
        elif tag == "input" and name and attributes.get("type") != "file":
            box = attributes.get("type") in {"radio", "checkbox"}
            values = fields.setdefault(name, [])
            if not box or "checked" in attributes:
                values.append(attributes.get("value", "on" if box else ""))

    def handle_data(self, data: str) -> None:
        if self._area:
            area = self._forms[-1][0][self._area]
            area[0] += data if area[0] else data.removeprefix("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = ""


def said(response: Any) -> list[str]:
    return [str(message) for message in get_messages(response.wsgi_request)]


class Window:
    """The page at ``address``, in which somebody types and presses."""

    def __init__(self, client: Client, address: str) -> None:
        self.client, self.address = client, address
        self.response = client.get(address)
        self.page = Fields(self.text)

    @property
    def text(self) -> str:
        return self.response.content.decode()

    @property
    def said(self) -> list[str]:
        return said(self.response)

    def type(self, **typed: str | list[str]) -> "Window":
        """Fill fields that the page has; ``need_0_size`` is ``need-0-size``."""
        for name, value in typed.items():
            field = name if name in self.page.fields else name.replace("_", "-")
            assert field in self.page.fields, f"No field {name} on the page."
            self.page.fields[field] = value if isinstance(value, list) else [value]
        return self

    def save(self, intent: str = "") -> "Window":
        if intent:
            assert intent in self.page.intents, f"No button {intent} among {self.page.intents}"
        sent = {name: values for name, values in self.page.fields.items() if values}
        self.response = self.client.post(self.address, sent | {"intent": intent})
        if self.response.status_code == 200:
            self.page = Fields(self.text)
        return self
