"""Every paper on every size that a printer may hold, with texts and amounts as hard as they come.

``make papers`` prints them all, holds each file to ``papers.faults``, keeps the files and one sheet
of pictures for each paper and size in ``PAPERS_IN``, and says what it found. To be looked at: what
is cramped or ugly no check sees.
"""

import os
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse
from PIL import Image, ImageDraw

from jobs.billing.actions import credit_lines, record_payment
from jobs.billing.models import Invoice, Payment
from jobs.counter.page_papers import ACROSS
from jobs.planning.plan.book import monday_of
from jobs.tickets.actions.pads import reserve
from jobs.tickets.models import AgreementSheet, Pad, Ticket
from jobs.tickets.quoting import GarmentDraft
from studio.shop import clock
from studio.shop.models import Profile, User
from studio.shop.paper.printers import PAPERS, SIZES, Printer
from tests import papers, proofreading
from tests.drafts import hem, issued, paid, received, take_in, trousers
from tests.factories import (
    ClientFactory,
    CodeAppFactory,
    FittingFactory,
    GarmentKindFactory,
    OperationFactory,
)
from tests.papers_data import ARABIC_NAME, EMOJI_NAME, HEBREW_NAME, LONG_NAME, TERMS

OUT = Path(os.environ.get("PAPERS_IN", "var/papers"))
CHINESE_NAME = "欧阳婉清 与 上官云裳"
STANDARD = {"name": "Standard", "percent": "23", "exempt": False, "sentence": ""}
THUMB = 300  # pixels of a page's width on a sheet of pictures
IN_A_ROW = 6


@dataclass(frozen=True)
class HardCase:
    """A studio, a client and a ticket. ``scale`` turns cents into minor units of the currency."""

    studio: dict[str, Any] = field(default_factory=dict)
    client: dict[str, Any] = field(default_factory=dict)
    garments: tuple[GarmentDraft, ...] = ()
    event: str = "a wedding"
    scale: int = 1


def usual(scale: int = 1, **named: Any) -> tuple[GarmentDraft, ...]:
    """A dress, trousers and a coat with what is usually noted."""
    dress = trousers(
        take_in(amount_typed="2 cm", basis="each", unit_price=3000 * scale),
        hem(name="Hem, blind stitch", note="keep the original edge", unit_price=2400 * scale),
        kind_name="Evening dress", colour="bottle green",
        description="long, boat neck, covered buttons at the back",
        condition="small pull in the cloth at the left hip", things_left="belt, shoes",
        heel_typed="7 cm",
    )  # fmt: skip
    buttons = hem(
        name="Replace button", quantity=4, unit_price=250 * scale, tax=STANDARD,
        amount_mm=None, amount_typed="", basis="", measure="",
    )  # fmt: skip
    coat = trousers(buttons, kind_name="Coat", colour="camel")
    return dress, trousers(hem(unit_price=2400 * scale), description="wool, straight leg"), coat


def long_words(name: str) -> tuple[GarmentDraft, ...]:
    """Everything that a person can name has this name, as far as its field is long."""
    lines = [hem(name=name[:80], note=name[:200]) for _ in range(3)]
    piece = trousers(
        *lines, kind_name=name[:60], colour=name[:60], description=name[:200],
        condition=name[:200], things_left=name[:200],
    )  # fmt: skip
    return (piece,)


def many(lines: int, pieces: int) -> tuple[GarmentDraft, ...]:
    names = ["Take in side seams", "Shorten sleeves from the shoulder", "Hem, blind stitch"]
    work = [hem(name=f"{names[n % 3]}, {n + 1}", unit_price=1850 + 10 * n) for n in range(lines)]
    return tuple(
        trousers(*work, kind_name="Evening dress", description="tulle over satin")
        for _ in range(pieces)
    )


def by_name(name: str) -> HardCase:
    studio = {"name": name[:120], "street": name[:200], "legal_name": name[:120]}
    address = {"street": name[:200], "city": name[:100]}
    return HardCase(studio, {"name": name[:200], **address}, long_words(name), event=name[:120])


CASES = {
    "usual": HardCase({"electronic": True}, garments=usual()),
    "long name": by_name(LONG_NAME),
    "unbroken": by_name("W" * 200),
    "right to left": by_name(f"{HEBREW_NAME} {ARABIC_NAME}"),
    "emoji": by_name(EMOJI_NAME),
    "chinese": by_name(CHINESE_NAME),
    "german": HardCase(
        {"country": "DE", "tax_number": "DE123456789"}, {"language": "de"}, garments=usual()
    ),
    "12 lines": HardCase(garments=many(12, 1)),
    "9 garments": HardCase(garments=many(2, 9)),
    "dinar": HardCase(
        {"currency": "KWD", "country": "KW", "tax_mode": "added"}, garments=usual(100_000)
    ),
    "yen": HardCase({"currency": "JPY", "country": "JP"}, garments=usual()),
    "no address": HardCase(
        # Inside of the European Union no invoice would be issued.
        {"street": "", "postcode": "", "city": "", "phone": "", "email": "", "country": "US"},
        {"street": "", "postcode": "", "city": "", "phone": "", "email": ""},
        garments=usual(),
        event="",
    ),
}
ADDRESSED = {"street": "12 Quay Street", "postcode": "X00 AB12", "city": "Larkfield"}
# Each address of a paper: whose paper it is in the printers' list, its name, and what it is of.
TICKET, INVOICE, CREDIT, RECEIPT = "ticket", "invoice", "credit", "receipt"
PAD, STUDIO = "pad", "studio"
ADDRESSES = [
    ("claim", "ticket-claim", TICKET),
    ("claim", "ticket-large", TICKET),
    ("claim", "ticket-roll", TICKET),
    ("tags", "ticket-tags", TICKET),
    ("work", "ticket-work-sheet", TICKET),
    ("agreement", "agreement-paper", TICKET),
    ("invoice", "invoice-paper", INVOICE),
    ("invoice", "invoice-paper", CREDIT),
    ("receipt", "receipt", RECEIPT),
    ("lists", "pad-paper", PAD),
    *(
        ("lists", name, STUDIO)
        for name in (
            "paper-prices", "paper-prices-folded", "paper-day-end", "paper-in-case", "paper-rack",
            "paper-measures", "paper-cautions", "paper-today", "paper-week", "paper-year",
            "second-paper",
        )
    ),
]  # fmt: skip


@dataclass
class Filled:
    """A studio with one ticket: what its papers are of."""

    ticket: Ticket
    invoice: Invoice
    credit: Invoice
    receipt: Payment
    pad: Pad

    def address(self, name: str, of: str) -> str:
        if name == "paper-year":
            return reverse(name, args=[clock.today().year])
        if name == "paper-week":
            return reverse(name, args=[monday_of(clock.today())])
        if of == STUDIO:
            return reverse(name)
        if of == PAD:
            return reverse(name, args=[self.pad.pk])
        number = getattr(self, of).number
        return reverse(name, args=[number, 1] if name == "agreement-paper" else [number])


def filled(case: HardCase, owner: User) -> Filled:
    Profile.objects.update(
        terms=TERMS, iban="DE02120300000000202051", simplified_limit=10**9, **case.studio
    )
    studio = Profile.objects.get()
    CodeAppFactory(user=owner)
    kind = GarmentKindFactory(name="Evening dress")
    for number in range(12):
        OperationFactory(garment_kind=kind, name=f"Work {number + 1}", price=1200 + 50 * number)
    client = ClientFactory(**{"name": "Maeve Tuohy", **ADDRESSED, **case.client})
    ticket = received(
        studio, owner, *case.garments, client=client, event=case.event, deposit=2000 * case.scale,
        note="Call before cutting.", wanted_by=None,
    )  # fmt: skip
    FittingFactory(ticket=ticket, starts_at=ticket.promise_at - timedelta(days=2))
    deposit = paid(studio, owner, ticket, amount=2000)
    invoice = issued(studio, owner, ticket)
    note = credit_lines(
        invoice=invoice, amounts={0: 100}, why="a seam was late", give_back="", studio=studio,
        by=owner, form_key=uuid4(),
    )  # fmt: skip
    record_payment(
        ticket=ticket, amount=500, method="card", kind="part", by=owner, studio=studio,
        form_key=uuid4(),
    )  # fmt: skip
    pad = reserve(count=5, by=owner, form_key=uuid4())
    return Filled(ticket, invoice, note, deposit, pad)


def jobs_of_printers() -> Iterator[tuple[str, str, str]]:
    """Each size with the addresses of the papers that are made for it."""
    for size in SIZES:
        for paper, name, of in ADDRESSES:
            narrow = size.startswith("roll")
            if size not in PAPERS[paper].sizes:
                continue
            if (name == "ticket-roll") != narrow and paper == "claim":
                continue
            yield size, name, of


def page_of(name: str, size: str) -> str:
    if name == "paper-prices-folded":
        return "Letter-folded" if size == "Letter" else "A4-folded"
    return ACROSS.get(size, f"{size}-across") if name == "paper-week" else size


SHOWN: dict[tuple[str, str], list[tuple[str, bytes]]] = defaultdict(list)
FOUND: list[str] = []


@pytest.mark.parametrize("case", CASES)
def test_every_paper(case, studio, owner, owner_client, settings):
    settings.ADDRESS = "https://studio.larkfield.example"
    made = filled(CASES[case], owner)
    faults = [
        f"{name} {of} {size}: {fault}"
        for size, name, of in jobs_of_printers()
        for fault in printed(owner_client, made, case, size, name, of)
    ]
    FOUND.extend(f"{case}: {fault}" for fault in faults)
    assert not faults, "\n".join(faults)


def printed(browser: Browser, made: Filled, case: str, size: str, name: str, of: str) -> list[str]:
    all_in_one = Printer("Printer", size, tuple(PAPERS)).plain
    Profile.objects.update(
        printers=[all_in_one], paper=size if size in ("A4", "Letter", "A5") else "A4"
    )
    AgreementSheet.objects.all().delete()
    for rows in (Invoice.objects, Payment.objects):
        rows.update(paper=None)
    if name == "second-paper":
        browser.post(reverse("second-codes"))
    with papers.complaints() as heard:
        response = browser.get(made.address(name, of))
    assert response.status_code == 200, response.content[:300]
    pdf = response.content
    label = f"{name}{'-credit' if of == CREDIT else ''}"
    SHOWN[label, size].append((case, pdf))
    folder = OUT / size
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{label} {case}.pdf").write_bytes(pdf)
    usual = case not in {"right to left", "emoji", "chinese"}
    return [*heard, *proofreading.faults(pdf, page_of(name, size), usual=usual)]


@pytest.fixture(scope="module", autouse=True)
def _pictures() -> Iterator[None]:
    """When all is printed: a sheet of pictures for each paper and size, and what was found."""
    yield
    for (label, size), files in SHOWN.items():
        contact_sheet(files).save(OUT / f"{label} {size}.png")
    files = sum(len(files) for files in SHOWN.values())
    pages = sum(len(papers.sizes(pdf)) for files in SHOWN.values() for _, pdf in files)
    said = [f"{files} files of {pages} pages, {len(FOUND)} faults", *FOUND]
    OUT.mkdir(parents=True, exist_ok=True)
    (OUT / "found.txt").write_text("\n".join(said) + "\n")
    print("\n".join(said))


def contact_sheet(files: list[tuple[str, bytes]], most: int = 3) -> Image.Image:
    """The first pages of each file side by side, named."""
    shown = []
    for case, pdf in files:
        count = len(papers.sizes(pdf))
        shown += [
            (f"{case} {n + 1}/{count}", papers.picture(pdf, n)) for n in range(min(most, count))
        ]
    thumbs = [(words, scaled(picture)) for words, picture in shown]
    high = min(max(picture.height for _, picture in thumbs), 4 * THUMB) + 16
    sheet = Image.new("L", (IN_A_ROW * (THUMB + 8), -(-len(thumbs) // IN_A_ROW) * high), 190)
    pen = ImageDraw.Draw(sheet)
    for place, (words, picture) in enumerate(thumbs):
        left, top = place % IN_A_ROW * (THUMB + 8), place // IN_A_ROW * high
        pen.text((left + 2, top + 1), words, fill=0)
        sheet.paste(picture.crop((0, 0, picture.width, high - 16)), (left, top + 14))
    return sheet


def scaled(picture: Image.Image) -> Image.Image:
    return picture.resize((THUMB, round(picture.height * THUMB / picture.width)))
