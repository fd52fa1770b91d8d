"""A page as tests read it: its elements by a few simple selectors, its words with plain spaces."""

import re

from django.test import Client
from lxml import html

PART = re.compile(r"([\w-]+|\*)?((?:[.#][\w-]+|\[[^\]]+\])*)")
MARK = re.compile(r"([.#])([\w-]+)|\[([\w-]+)(?:=\"?([^\]\"]*)\"?)?\]")


def xpath(selector: str) -> str:
    """``form.told [name=kind]`` as XPath: tags, classes, ids and attributes, within each other."""
    steps = []
    for part in selector.split():
        tag, marks = PART.fullmatch(part).groups()  # type: ignore[union-attr]
        step = tag or "*"
        for sign, name, attribute, value in MARK.findall(marks):
            if sign == ".":
                step += f"[contains(concat(' ', normalize-space(@class), ' '), ' {name} ')]"
            elif sign == "#":
                step += f"[@id='{name}']"
            else:
                step += f"[@{attribute}='{value}']" if value else f"[@{attribute}]"
        steps.append(step)
    return ".//" + "//".join(steps)


class Node:
    def __init__(self, element: html.HtmlElement) -> None:
        self.element = element

    def all(self, selector: str) -> list["Node"]:
        return [Node(element) for element in self.element.xpath(xpath(selector))]

    def one(self, selector: str) -> "Node":
        found = self.all(selector)
        assert found, selector
        return found[0]

    def __getitem__(self, name: str) -> str:
        return str(self.element.attrib[name])

    @property
    def text(self) -> str:
        return " ".join(self.element.text_content().split())


def page_of(browser: Client, address: str) -> Node:
    return Node(html.fromstring(browser.get(address).text))


def read(text: str) -> Node:
    return Node(html.fromstring(text))
