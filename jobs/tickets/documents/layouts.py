"""The papers of a ticket, laid out: agreement, claim ticket and slip, garment tags, work sheet."""

from bisect import bisect_left
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from django.db.models import F
from django.utils.text import Truncator

from jobs.pricing import quote as q
from jobs.tickets.agreements import extras
from jobs.tickets.cautions import GarmentCare
from jobs.tickets.facts import on_paper
from jobs.tickets.models import Initials, Photo, Ticket, amount_in
from jobs.tickets.queries import Marked
from studio.shop import paper
from studio.shop.locales import show_share
from studio.shop.money import format_money
from studio.shop.paper import Document, code_png, needs_width
from studio.shop.pictures import shrunk
from studio.shop.words import Words

SMALL_SIDE = 480  # pixels; 26 mm of paper at more than 400 dots per inch
MARKED_SIDE = 1000  # pixels; 76 mm at more than 300
MOST_PHOTOGRAPHS = 6  # of one garment


@dataclass(frozen=True)
class ShownPhotograph:
    """A photograph with its marks, named for the paper on which it stands."""

    name: str
    letter: str
    jpeg: bytes
    marked: Marked

    @property
    def upright(self) -> bool:
        return self.marked.photo.height > self.marked.photo.width


def photographs(ticket: Ticket, besides: Collection[int] = ()) -> dict[str, list[bytes]]:
    """The first few JPEGs of each garment by its letter. One whose file is gone is left out.

    ``besides`` are keys of those that are shown elsewhere.
    """
    pictures: dict[str, list[bytes]] = {}
    photos = Photo.objects.filter(garment__ticket=ticket).exclude(pk__in=besides)
    for photo in photos.annotate(letter=F("garment__letter")):
        shown = pictures.get(photo.letter, [])
        if len(shown) < MOST_PHOTOGRAPHS and _is_there(photo):
            pictures[photo.letter] = [*shown, thumbnail(photo, SMALL_SIDE)]
    return pictures


def marked_photographs(photos: Iterable[Marked]) -> list[ShownPhotograph]:
    """Those whose file is there."""
    return [
        ShownPhotograph(
            name=f"marked-{marked.photo.pk}",
            letter=marked.photo.garment.letter if marked.photo.garment else "",
            jpeg=thumbnail(marked.photo, MARKED_SIDE),
            marked=marked,
        )
        for marked in photos
        if _is_there(marked.photo)
    ]


def thumbnail(photo: Photo, side: int) -> bytes:
    with photo.file.open("rb") as file:
        return shrunk(file, side)


def _is_there(photo: Photo) -> bool:
    return bool(photo.file.storage.exists(str(photo.file)))


Facts = dict[str, Any]
SHORT_TERMS = 400  # letters that stand beside the totals


@dataclass(frozen=True)
class PaidRow:
    """One payment as papers tell it; ``amount`` is minor units, below zero when given back."""

    number: str
    day: date
    method: str
    amount: int


@dataclass(frozen=True)
class BookedFitting:
    name: str
    starts_at: datetime


@dataclass(frozen=True)
class Since:
    """What was paid and booked since the agreement, as it stands at the time of printing.

    ``entries`` are the numbers of all payments and reversals: one more is another issue of the
    paper. ``until`` is the moment at which a later version replaced this one, after which nothing
    of it changes. A cancelled ticket has nothing to pay. ``credited`` is what credit notes took off
    single lines, in minor units.
    """

    payments: tuple[PaidRow, ...] = ()
    fittings: tuple[BookedFitting, ...] = ()
    entries: tuple[str, ...] = ()
    until: datetime | None = None
    cancelled: bool = False
    credited: int = 0

    @property
    def key(self) -> list[Any]:
        """Plain data, the same for the same state."""
        booked = [[fitting.name, fitting.starts_at.isoformat()] for fitting in self.fittings]
        state = [list(self.entries), booked, self.cancelled]
        return [*state, self.credited] if self.credited else state

    @property
    def less(self) -> int:
        return -self.credited

    def to_pay(self, gross: int) -> int:
        """Minor units of what is open, below zero when there is money to give back."""
        owed = 0 if self.cancelled else gross - self.credited
        return owed - sum(row.amount for row in self.payments)


AGREED_ONLY = Since()


def ticket_facts(
    data: Facts,
    *,
    address: str,
    figures: bool = True,
    since: Since = AGREED_ONLY,
    words: Words | None = None,
) -> Facts:
    """The context of one paper. ``address`` is the ticket's page; ``figures`` shows the money.

    It is in the language in which it was agreed unless it is told in other ``words``.
    """
    studio = SimpleNamespace(**data["studio"])
    words = words or Words(locale=studio.locale, tag=studio.language)
    studio.locale, studio.language = words.locale, words.tag
    studio.terms = words.written(studio.terms)
    to_pay = since.to_pay(data["gross"])
    return {
        **data,
        "studio": studio,
        "words": words,
        "address": address,
        "figures": figures,
        "long_terms": len(studio.terms) > SHORT_TERMS,
        "wide": needs_width(data["gross"], studio.currency, studio.locale),
        "received_at": datetime.fromisoformat(data["received_at"]),
        "promise_at": datetime.fromisoformat(data["promise_at"]),
        "wanted_by": date.fromisoformat(data["wanted_by"]) if data["wanted_by"] else None,
        "garments": [shown_garment(garment, studio, words) for garment in data["garments"]],
        "adjustments": [shown_line(line, studio, words) for line in data["adjustments"]],
        "rates": [words.rate(rate) for rate in data["rates"]],
        "since": told_in(words, since),
        "to_pay": max(to_pay, 0),
        "to_give_back": max(-to_pay, 0),
    }


def told_in(words: Words, since: Since) -> Since:
    """The same with the ways of paying and the kinds of fitting in other words."""
    return replace(
        since,
        payments=tuple(replace(row, method=words.choice(row.method)) for row in since.payments),
        fittings=tuple(replace(row, name=words.heading(row.name)) for row in since.fittings),
    )


def shown_garment(garment: Facts, studio: SimpleNamespace, words: Words) -> Facts:
    lines = [shown_line(line, studio, words) for line in garment["lines"]]
    return {
        **garment,
        "name": ", ".join(
            words.thing(part) for part in (garment["kind"], garment["colour"]) if part
        ),
        "lines": lines,
        # By their own names, by which their marks are known.
        "work": [line["name"] for line in garment["lines"]],
        "price": sum(line["price"] for line in lines),
        "minutes": sum(line["minutes"] for line in lines),
        "fitting_first": any(line["fitting_first"] for line in lines),
        "noted": on_paper(garment, words),
    }


def with_unmeasured(facts: Facts, lines: Collection[int]) -> Facts:
    """The facts for the bench, where these lines by their keys are still to be measured."""
    garments = [
        {
            **garment,
            "lines": [{**line, "to_measure": line.get("pk") in lines} for line in garment["lines"]],
        }
        for garment in facts["garments"]
    ]
    return {**facts, "garments": garments}


def shown_line(line: Facts, studio: SimpleNamespace, words: Words) -> Facts:
    def show(minor: int) -> str:
        return format_money(minor, studio.currency, studio.locale)

    return {
        **line,
        "name": words.named(line["name"]),
        "shown": words.named(line["name"]),
        "amount": amount_in(words, line.get("amount", "")),
        "explained": explained(line, show, words),
        "extras": extras(line),
    }


def explained(line: Facts, show: Callable[[int], str], words: Words) -> str:
    """How a price came about, where it is more than one price of the list."""
    quantity = line.get("quantity", 1)
    if len(line["steps"]) == 1 and quantity == 1:
        return ""
    return q.explain(
        thaw_line(line),
        show,
        name=words.named,
        percent=lambda percent: show_share(percent, words.locale, signed=True),
    )


def thaw_line(line: Facts) -> q.QuotedLine:
    """The quoted line that ``agreements.quoted_facts`` froze."""
    steps = tuple(
        q.PriceStep(step["name"], step["amount"], step["percent"] and Decimal(step["percent"]))
        for step in line["steps"]
    )
    item = q.Item(
        key="",
        name=line["name"],
        unit_price=line.get("unit_price", steps[0].amount),
        quantity=line.get("quantity", 1),
    )
    amounts = {key: line[key] for key in ("price", "net", "tax", "gross", "minutes")}
    return q.QuotedLine(item, steps, **amounts)


def agreement(
    facts: Facts,
    *,
    page: str,
    shown: Sequence[ShownPhotograph] = (),
    initials: Initials | None = None,
    ink: bytes = b"",
) -> Document:
    """``ink`` is the PNG of initials given on the glass. Without any there is a line for them."""
    pictures = {photo.name: photo.jpeg for photo in shown} | ({"ink": ink} if ink else {})
    return paper.lay_out_snug(
        "tickets/papers/agreement.html",
        {
            **facts,
            "garments": with_marked(facts, shown),
            "marked": bool(shown),
            "initials": initials,
            "initialled": facts["words"].choice(initials.get_way_display()) if initials else "",
            "ink": bool(ink),
        },
        title=facts["words"]("Agreement {number}", number=facts["number"]),
        language=facts["studio"].language,
        page=page,
        pictures={**pictures, "code": code_png(facts["address"])},
    )


def with_marked(facts: Facts, shown: Sequence[ShownPhotograph]) -> list[Facts]:
    """The garments, each with its photographs that have marks."""
    return [
        {**garment, "marked": [photo for photo in shown if photo.letter == garment["letter"]]}
        for garment in facts["garments"]
    ]


MOST_SAVED = 0.25
"""Of a page: more of a second one is never saved by setting a claim ticket tighter (measured on 50
tickets made by chance: up to 0.19 of an A5 and 0.14 of an A4)."""


def claim_ticket(facts: Facts, *, page: str) -> Document:
    """Both parts with a cut between them.

    Best is each on its half of one sheet, then both on one, set tighter and with the studio's sums
    in short. What does not fit on one sheet gets a sheet, or several, for each part. Each of these
    is a layout that takes its time: the tighter one is left out where it would not save enough.
    """

    def placed(how: str) -> Document:
        return _lay_out_claim("tickets/papers/claim.html", {**facts, "placed": how}, page)

    document = placed("halves")
    if len(document.pages) == 2 and _signed_at(document.pages[1]) < MOST_SAVED:
        document = placed("tight")
    return document if len(document.pages) == 1 else placed("apart")


def _signed_at(page: Any) -> float:
    """How far down a page the studio's part is signed, of its height."""
    return float(page.anchors["end"][1] / page.height)


def large_claim_ticket(facts: Facts, *, page: str) -> Document:
    """The client's part in letters of 14 pt at least."""
    return _lay_out_claim("tickets/papers/claim_large.html", facts, page, paper.lay_out_snug)


def slip(facts: Facts, *, page: str = "roll") -> Document:
    """The client's part on the roll."""
    return _lay_out_claim("tickets/papers/slip.html", facts, page)


def _lay_out_claim(
    template: str, facts: Facts, page: str, lay_out: Callable[..., Document] = paper.lay_out
) -> Document:
    client_address = facts.get("client_address") or facts["address"]
    return lay_out(
        template,
        {
            **facts,
            "client_address": client_address,
            "has_page": client_address != facts["address"],
        },
        title=facts["words"]("Claim ticket {number}", number=facts["number"]),
        language=facts["studio"].language,
        page=page,
        pictures={"code": code_png(facts["address"]), "client-code": code_png(client_address)},
    )


# The letters of a tag's number are at least 10 mm tall: at two metres that is 17 minutes of arc.
# ISO 9241-303 asks for at least 16 (from memory); a height of one two-hundredth of the distance
# is common practice for notices.
SIZES = range(5)  # of the letters, see paper-tag.css
SHORT = 60  # letters that are left of a long text


@dataclass(frozen=True)
class CardText:
    """How much goes on a card.

    ``size`` is that of the letters (0 is largest), ``shown`` the number of operations, ``notes``
    whether theirs are told; ``most`` letters are told of each long text about the garment, all of
    them if it is None.
    """

    size: int
    notes: bool
    most: int | None
    shown: int


def card_texts(lines: int) -> list[CardText]:
    """From the most readable card to the one on which anything fits; each says what it omits.

    First the letters get smaller, then notes, the ends of long descriptions and the last operations
    are left to the work sheet.
    """
    smallest = SIZES[-1]
    return [
        *(CardText(size, True, None, lines) for size in SIZES),
        CardText(smallest, False, None, lines),
        *(CardText(smallest, False, SHORT, shown) for shown in range(lines, -1, -1)),
        CardText(smallest, False, SHORT // 2, 0),
    ]


QUARTER = "quarter"
TAGS_ON_A_SHEET = 4
# How a card is set, see paper-tag.css.
CARD_STYLES = {
    "A6": "a6", "4x6": "a6", "A7": "a7", "3x5": "a7", "label-62": "a7 label", QUARTER: "a7 quarter",
}  # fmt: skip
NARROW = "label-62"


def surname(name: str, page: str) -> str:
    """The last of the client's names, as far as a tag has room for it in one line or two."""
    *_, last = ["", *name.split()]
    return Truncator(last).chars(12 if page == NARROW else 24)


def tags(
    facts: Facts,
    *,
    page: str,
    pictures: Mapping[str, bytes] | None = None,
    named: bool = False,
) -> list[Document]:
    """One plain card for each garment; it shows no price: it hangs where everybody reads it.

    On a sheet there are four with marks to cut along. ``pictures`` may hold a photograph by the
    garment's letter; ``named`` prints the client's surname.
    """
    code = {"code": code_png(facts["address"])}
    on_sheet = page not in CARD_STYLES
    each, shown = [], dict(code)
    for place, garment in enumerate(facts["garments"], start=1):
        # The tags become one document, in which a name stands for one picture.
        photo = (pictures or {}).get(garment["letter"])
        name = f"photo-{garment['letter']}" if photo else ""
        own = {name: photo} if photo else {}
        shown |= own
        context = {
            **facts,
            "garment": garment,
            "place": place,
            "photo": name,
            "surname": surname(facts["client"]["name"], page) if named else "",
        }
        each.append(_tag(context, QUARTER if on_sheet else page, {**code, **own}))
    if not on_sheet:
        return [document for _, document in each]
    cards = [context for context, _ in each]
    return [
        paper.lay_out(
            "tickets/papers/tags.html",
            {**facts, "sheets": list(batched(cards, TAGS_ON_A_SHEET))},
            title=f"Tags {facts['number']}",
            language=facts["studio"].language,
            page=page,
            pictures=shown,
            sheet="tag",
        )
    ]


def batched(cards: Sequence[Facts], size: int) -> Iterator[Sequence[Facts]]:
    return (cards[first : first + size] for first in range(0, len(cards), size))


def _tag(facts: Facts, page: str, pictures: Mapping[str, bytes]) -> tuple[dict[str, Any], Document]:
    """The most readable way that stays on one card: one layout, or O(log n) for n operations."""
    laid: dict[CardText, tuple[dict[str, Any], Document]] = {}

    def on_one_card(text: CardText) -> bool:
        context = tag_context(facts, text, page)
        document = paper.lay_out(
            "tickets/papers/tag.html",
            {**facts, "card": context},
            title=f"Tag {facts['number']}-{facts['garment']['letter']}",
            language=facts["studio"].language,
            page=page,
            pictures=pictures,
        )
        laid[text] = (context, document)
        return len(document.pages) == 1

    best, *smaller = card_texts(len(facts["garment"]["lines"]))
    if not on_one_card(best):
        first = bisect_left(smaller, True, key=on_one_card)
        best = smaller[min(first, len(smaller) - 1)]
    return laid[best]


def tag_context(facts: Facts, text: CardText, page: str) -> dict[str, Any]:
    """What one tag says, with as much of it as ``text`` tells."""
    garment = facts["garment"]
    shortened = {
        key: garment[key]
        if text.most is None
        else Truncator(garment[key]).chars(text.most // 2 if page == NARROW else text.most)
        for key in ("name", "description", "things_left")
    }
    more = len(garment["lines"]) - text.shown
    notes_left = not text.notes and any(line["note"] for line in garment["lines"])
    return {
        **{key: facts[key] for key in ("garment", "place", "photo", "surname")},
        **shortened,
        "style": CARD_STYLES[page],
        "size": text.size,
        "lines": garment["lines"][: text.shown],
        "more": more,
        "notes": text.notes,
        "left_out": more or notes_left or any(shortened[key] != garment[key] for key in shortened),
    }


def work_sheet(
    facts: Facts,
    *,
    page: str,
    pictures: Mapping[str, list[bytes]],
    care: Mapping[str, GarmentCare],
    shown: Sequence[ShownPhotograph] = (),
) -> Document:
    """``pictures`` and ``care`` hold photographs and cautions of each garment by its letter.

    ``shown`` are the photographs that have marks.
    """
    named = {
        f"{letter}{place}": picture
        for letter, shown in pictures.items()
        for place, picture in enumerate(shown, start=1)
    }
    garments = [
        {
            **garment,
            "photos": [name for name in named if name.rstrip("0123456789") == letter],
            "care": care.get(letter),
        }
        for garment in with_marked(facts, shown)
        for letter in [garment["letter"]]
    ]
    return paper.lay_out_snug(
        "tickets/papers/work_sheet.html",
        {**facts, "garments": garments, "figures": False},
        title=f"Work sheet {facts['number']}",
        language=facts["studio"].language,
        page=page,
        pictures={
            **named,
            **{photo.name: photo.jpeg for photo in shown},
            "code": code_png(facts["address"]),
        },
    )
