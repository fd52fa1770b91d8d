"""A form as a browser without scripts would send it: what the page holds, and one button."""

import re
from html.parser import HTMLParser
from typing import TYPE_CHECKING

from django.test import Client

if TYPE_CHECKING:  # what tortures a studio reads forms without the program's own models
    from jobs.pricing.models import Operation

GARMENT = re.compile(r"g\d+-")
# What a form has of a page, and whatever takes the cursor; to read all takes three times as long.
PARTS = re.compile(
    r"<textarea\b.*?</textarea>|</?(?:form|button|select|option|input)\b[^>]*>"
    r"|<\w[^>]*\sautofocus\b[^>]*>",
    re.DOTALL,
)


class HtmlForm(HTMLParser):
    """The fields and buttons of the form with this ``id``, as the HTML says they are."""

    def __init__(self, html: str, form_id: str = "drop-off") -> None:
        super().__init__()
        self.form_id = form_id
        self.inside = False
        self.action = ""
        self.fields: dict[str, list[str]] = {}
        self.chips: dict[str, set[str]] = {}
        self.intents: list[str] = []
        self.focus: list[str] = []
        self._area = self._select = ""
        self.feed("".join(PARTS.findall(html)))
        assert self.action, f"There is no form {form_id} on the page."

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.inside = attributes.get("id") == self.form_id
            self.action = self.action or (attributes["action"] if self.inside else "")
        # A button in the bar at the foot names its form.
        if not self.inside and attributes.get("form") != self.form_id:
            return
        if "autofocus" in attributes:
            self.focus.append(attributes.get("value" if tag == "button" else "name", ""))
        if tag == "button" and attributes.get("name") == "intent":
            self.intents.append(attributes["value"])
        elif tag == "textarea":
            self._area = attributes["name"]
            self.fields[self._area] = [""]
        elif tag == "select":
            self._select = attributes["name"]
        elif tag == "option" and self._select:
            if self._select not in self.fields or "selected" in attributes:
                self.fields[self._select] = [attributes["value"]]
            self.chips.setdefault(self._select, set()).add(attributes["value"])
        elif tag == "input" and attributes.get("name") and attributes.get("type") != "file":
            self._input(attributes)

    def _input(self, attributes: dict[str, str]) -> None:
        name, value = (
            attributes["name"],
            attributes.get("value", "on" if attributes.get("type") == "checkbox" else ""),
        )
        if attributes.get("type") in {"radio", "checkbox"}:
            self.chips.setdefault(name, set()).add(value)
            if "checked" not in attributes:
                return
        self.fields.setdefault(name, []).append(value)

    def handle_data(self, data: str) -> None:
        if self.inside and self._area:
            self.fields[self._area] = [self.fields[self._area][0] + data.removeprefix("\n")]

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = False
        if tag == "textarea":
            self._area = ""
        if tag == "select":
            self._select = ""


class Counter:
    """Somebody at the drop-off page, pressing buttons that are really there."""

    def __init__(self, client: Client, address: str = "/drop-off/") -> None:
        self.client = client
        self.response = client.get(address)
        assert self.response.status_code == 200
        self.form = HtmlForm(self.text)

    @property
    def text(self) -> str:
        return self.response.content.decode()

    def type(self, **typed: object) -> "Counter":
        """Fill fields that the page has; ``g0_l0_amount`` is ``g0-l0-amount``."""
        for name, value in typed.items():
            field = _real(name, self.form)
            values = [str(item) for item in value] if isinstance(value, list) else [str(value)]
            self.form.fields[field] = values
        return self

    def press(self, intent: str, **files: object) -> "Counter":
        """How far is measured at once, in a field that takes the cursor to ask it."""
        assert intent in self.form.intents, f"No button {intent} among {self.form.intents}"
        self.send({**self.form.fields, "intent": [intent]}, **files)
        if intent.startswith("add-line") and (asked := self.form.focus[0]).endswith("-amount"):
            self.form.fields[asked] = ["4.5"]
        return self

    def put(self, work: "Operation") -> "Counter":
        """What the buttons of a garment and of its work do, by their fields and in one go."""
        place = len({name.partition("-")[0] for name in self.form.fields if GARMENT.match(name)})
        entry = f"g{place}-l0-"
        self.form.fields |= {
            f"g{place}-kind": [str(work.garment_kind_id)],
            f"{entry}operation": [str(work.pk)],
        }
        self.press("enter")
        if work.takes_amount:
            self.form.fields[f"{entry}amount"] = ["4.5"]
        return self

    def send(self, data: dict[str, list[str]], headers: dict | None = None, **files: object):
        sent = {**data, **{name.replace("_", "-"): file for name, file in files.items()}}
        self.response = self.client.post(self.form.action, sent, headers=headers)
        if self.response.status_code == 200 and 'id="drop-off"' in self.text:
            self.form = HtmlForm(self.text)
        return self


def _real(name: str, form: HtmlForm) -> str:
    parts = name.split("_")
    heads = []
    while parts and parts[0][:1] in {"g", "l"} and parts[0][1:].isdigit():
        heads.append(parts.pop(0))
    field = "-".join([*heads, "_".join(parts)])
    assert field in form.fields or field in form.chips, f"No field {field} on the page."
    return field
