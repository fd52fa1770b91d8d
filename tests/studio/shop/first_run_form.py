"""The set-up page as a browser has it: its fields are read from the page and sent back."""

from html.parser import HTMLParser


class Fields(HTMLParser):
    """What a browser would send of a page's form, untouched: ``Fields.of(html)``."""

    def __init__(self) -> None:
        super().__init__()
        self.sent: dict[str, str] = {}
        self.select = ""

    @classmethod
    def of(cls, html: str) -> dict[str, str]:
        parser = cls()
        parser.feed(html)
        return parser.sent

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name = given.get("name") or ""
        if tag == "select":
            self.select = name
        elif tag == "option" and "selected" in given and self.select:
            self.sent[self.select] = given.get("value") or ""
        elif tag == "textarea":
            self.sent[name] = ""
        elif tag == "input" and name:
            ticked = given.get("type") not in {"radio", "checkbox"} or "checked" in given
            if ticked:
                self.sent[name] = given.get("value") or ("on" if "checked" in given else "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self.select = ""
