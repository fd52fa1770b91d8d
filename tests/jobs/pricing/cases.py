"""Reads the worked cases of ``quote_cases.csv``: a small notation, plain enough to check by hand.

``terms``: ``rush 20; less 10; off 5.00; minimum 30.00; step 0.05; deposit 50%``, where *less* is a
discount in percent, *off* one in money, and a deposit without ``%`` is money.

``lines``: one operation each, separated by ``;``. ``hem 24.00 x2 30min lined+25% beaded+3.00
lined+10%min lined+5min @20`` is two pieces at 24.00 and 30 minutes each, with surcharges in
percent and money, on price and minutes, taxed at 20 %. ``@exempt`` takes no tax, ``@new:8.25``
names a rate.

An amount is written with all decimals of its currency: its minor units are its digits.
"""

import csv
import re
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from jobs.pricing.quote import Item, ItemSurcharge, Tax, TaxMode, Terms

FILE = Path(__file__).with_name("quote_cases.csv")
EXEMPT = Tax("exempt", Decimal(0), exempt=True, sentence="Exempt: worn clothing.")


class Case(NamedTuple):
    name: str
    items: list[Item]
    terms: Terms
    expected: dict


def read_cases() -> list[Case]:
    with FILE.open(encoding="utf-8", newline="") as file:
        return [read_case(row) for row in csv.DictReader(file)]


def read_case(row: dict[str, str]) -> Case:
    expected = {
        "prices": [minor(amount) for amount in row["prices"].split()],
        "taxes": [minor(amount) for amount in row["taxes"].split()],
        **{name: minor(row[name]) for name in ("net", "tax", "gross", "deposit")},
        "minutes": int(row["minutes"]),
    }
    terms = read_terms(row["currency"], row["tax mode"], row["terms"])
    return Case(row["case"], read_items(row["lines"]), terms, expected)


def minor(written: str) -> int:
    return int(written.replace(".", ""))


def read_terms(currency: str, mode: str, text: str) -> Terms:
    words = dict(part.split() for part in text.split(";") if part.strip())
    deposit = words.get("deposit", "0%")
    in_percent = deposit.endswith("%")
    return Terms(
        currency=currency,
        tax_mode=TaxMode(mode),
        rounding_step=minor(words.get("step", "1")),
        minimum_charge=minor(words.get("minimum", "0")),
        rush_percent=Decimal(words.get("rush", "0")),
        discount_percent=Decimal(words.get("less", "0")),
        discount_amount=minor(words.get("off", "0")),
        deposit_percent=Decimal(deposit[:-1]) if in_percent else Decimal(0),
        deposit_amount=None if in_percent else minor(deposit),
    )


def read_items(text: str) -> list[Item]:
    parts = [part.split() for part in text.split(";") if part.strip()]
    return [read_item(f"{index:02d}", *words) for index, words in enumerate(parts)]


def read_item(key: str, name: str, price: str, *others: str) -> Item:
    quantity, minutes, tax = 1, 0, None
    surcharges: dict[str, dict] = {}
    for word in others:
        if word.startswith("@"):
            tax = read_tax(word[1:])
        elif match := re.fullmatch(r"(\w+)\+([\d.]+)(%min|%|min|)", word):
            field = {"%min": "minutes_percent", "%": "percent", "min": "minutes", "": "amount"}
            number = Decimal(match[2]) if "%" in match[3] else minor(match[2])
            surcharges.setdefault(match[1], {})[field[match[3]]] = number
        elif word.endswith("min"):
            minutes = int(word[:-3])
        else:
            quantity = int(word.removeprefix("x"))
    extras = tuple(ItemSurcharge(label, **facts) for label, facts in surcharges.items())
    return Item(key, name, minor(price), quantity, minutes, extras, tax)


def read_tax(word: str) -> Tax:
    if word == "exempt":
        return EXEMPT
    name, _, percent = word.rpartition(":")
    return Tax(name or f"{percent} %", Decimal(percent))
