"""Copies of invoices and credit notes made by chance, as they are frozen; no database needed."""

from datetime import date
from decimal import Decimal
from random import Random
from typing import Any

from jobs.billing.credits import credit_charges, lines_left
from jobs.billing.documents import buyer_facts, charges, credit_data, seller_facts
from jobs.billing.models import Invoice
from studio.shop.models import Profile
from tests.papers_data import LINED, a_client, a_line, a_piece, a_studio, agreed

Facts = dict[str, Any]

MODES = ("included", "included", "added", "none")
MONEY = ("EUR", "EUR", "EUR", "JPY", "KWD")
RATES = ("23", "13.5", "20", "19", "7", "5.5", "0")
EXEMPT = {"name": "Training", "percent": "0", "exempt": True, "sentence": "Exempt: rule 7."}
DAY = date(2026, 11, 27)


def taxes(dice: Random) -> list[Facts]:
    """Up to three: two names of one percentage now and then, and one that is exempt."""
    rates = [
        {"name": f"Rate {n}", "percent": dice.choice(RATES), "exempt": False, "sentence": ""}
        for n in range(dice.choice([1, 1, 2, 3]))
    ]
    return [*rates, EXEMPT] if dice.random() < 0.3 else rates


def a_shop(dice: Random, mode: str, currency: str) -> Profile:
    account = {"iban": "DE75512108001245126199", "bic": "SOLADEST600"}
    return a_studio(
        tax_mode=mode, currency=currency, legal_name="Wren Larkfield", electronic=True,
        invoice_sentence="Small enterprise, rule 1." if mode == "none" else "",
        invoice_words="Thank you.", simplified_limit=0,
        **(account if dice.random() < 0.5 else {}),
    )  # fmt: skip


def invoice(dice: Random, number: int) -> tuple[Facts, str]:
    """What is frozen, and the currency. Some have discounts, rush, a minimum charge, a deposit."""
    mode, currency = dice.choice(MODES), dice.choice(MONEY)
    studio, offered = a_shop(dice, mode, currency), taxes(dice)
    lines = [
        a_line(
            name=dice.choice(["Hem", "Zip", "Take in sides"]), unit_price=dice.randint(1, 20_000),
            quantity=dice.choice([1, 1, 2, 3, 7]), tax=dice.choice(offered),
            surcharges=[LINED] if dice.random() < 0.3 else [],
        )
        for _ in range(dice.randint(1, 5))
    ]  # fmt: skip
    worth = sum(line.unit_price * line.quantity for line in lines)
    percent = dice.choice([0, 0, 10, 100])
    off = 0 if percent == 100 else dice.choice([0, 0, dice.randint(0, worth // 3)])
    data = agreed(
        a_piece(*lines), studio=studio, client=a_client(country=dice.choice(["", "DE"])),
        rush_percent=Decimal(dice.choice([0, 0, 20])),
        discount_percent=Decimal(percent), discount_amount=off,
        terms={
            "currency": currency, "tax_mode": mode, "rounding_step": 1, "deposit_percent": "0",
            "minimum_charge": dice.choice([0, 0, 5000]),
        }, deposit=0,
    )  # fmt: skip
    charged = charges(data)
    paid = dice.choice([0, 0, dice.randint(0, charged["gross"]), charged["gross"]])
    client = a_client(
        street="12 Quay Street", city="Larkfield", country=dice.choice(["", "IE", "DE"]),
        vat_number=dice.choice(["", "DE123456789"]),
    )  # fmt: skip
    balance = charged["gross"] - paid
    return {
        "studio": seller_facts(studio), "client": buyer_facts(client), "form": "full",
        "electronic": True, "number": f"I26-{number:04d}", "kind": "invoice",
        "issued_on": DAY.isoformat(), "supply_on": DAY.isoformat(), "ticket": "26-0143",
        **charged,
        "paid": [{"number": "R26-0001", "day": DAY.isoformat(), "amount": paid,
                  "method": dice.choice(["cash", "card", "transfer"])}] if paid else [],
        "paid_total": paid, "balance": balance,
        "pay_by": "2026-12-11" if balance > 0 else None, "refers_to": None, "reason": "",
    }, currency  # fmt: skip


def credit(dice: Random, of: Facts, number: int) -> Facts:
    """A note on all of it, or on a part of some of its lines."""
    studio = a_studio(legal_name="Wren Larkfield", tax_mode=of["studio"]["tax_mode"])
    row = Invoice(number=of["number"], data=of)
    facts = {"number": f"I26-{number:04d}", "issued_on": DAY, "reason": "wrong"}
    left = [line for line in lines_left(of, []) if line.left > 0]
    if not left or dice.random() < 0.4:
        return credit_data(row, studio, **facts)
    chosen = dice.sample(left, dice.randint(1, len(left)))
    amounts = {line.place: dice.choice([line.left, dice.randint(1, line.left)]) for line in chosen}
    return credit_data(row, studio, charges=credit_charges(of, [], amounts), **facts)


def many(count: int = 200, seed: int = 16931) -> list[tuple[Facts, str]]:
    """A quarter of them are credit notes."""
    dice = Random(seed)  # noqa: S311 -- examples of a test are no secret
    made: list[tuple[Facts, str]] = []
    while len(made) < count:
        facts, currency = invoice(dice, len(made) + 1)
        made.append((facts, currency))
        if dice.random() < 1 / 3:
            made.append((credit(dice, facts, len(made) + 1), currency))
    return made[:count]
