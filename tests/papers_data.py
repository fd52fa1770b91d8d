"""What papers print, made of unsaved rows by the program's own functions: no database needed."""

from collections.abc import Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from clients.models import Client
from jobs.tickets.agreements import agreement_data
from jobs.tickets.models import Garment, Line, Ticket
from jobs.tickets.quoting import quote_lines
from studio.shop.models import Profile

ADDRESS = "http://studio.larkfield.example/t/26-0143/"
REPAIRS = {"name": "Repairs", "percent": "13.5", "exempt": False, "sentence": ""}
STANDARD = {"name": "Standard", "percent": "23", "exempt": False, "sentence": ""}
LINED = {
    "name": "lined", "percent": "25", "amount": 0, "minutes_percent": "25", "minutes": 0,
}  # fmt: skip
TERMS = (
    "Please try everything on before you leave. Finished work is kept for three months. "
    "Tell us within a week if something is not right, and we put it right."
)
LONG_WORD = "W" * 40
LONG_NAME = ("Aoife Wilhelmina " + "Featherstonehaugh-" * 20)[:200]
HEBREW_NAME = "שרה בת־חן אלמגור־ויטנברג לבית משפחת הסופרים"
ARABIC_NAME = "فاطمة الزهراء بنت عبد الرحمن الخياطة"
EMOJI_NAME = "Zoë 🧵 Łukasiewicz-Ørsted 👗✂️"

Piece = tuple[Garment, list[Line]]


def a_studio(**facts: Any) -> Profile:
    told = {
        "name": "Larkfield Sewing Room",
        "street": "3 Mill Lane",
        "postcode": "X00 XX00",
        "city": "Larkfield",
        "country": "IE",
        "phone": "01 555 0100",
        "email": "room@larkfield.example",
        "language": "en",
        "time_zone": "Europe/Dublin",
        "currency": "EUR",
        "tax_mode": "included",
        "tax_number": "IE0000000X",
        "terms": TERMS,
    }
    return Profile(**told | facts)


def a_client(**facts: Any) -> Client:
    return Client(**{"name": "Maeve Tuohy", "phone": "085 555 0143"} | facts)


def a_line(**facts: Any) -> Line:
    """A hem at 24.00 of 30 minutes, 4.5 cm to take off in total."""
    told: dict[str, Any] = {
        "name": "Hem, blind stitch",
        "unit_price": 2400,
        "minutes_each": 30,
        "tax": REPAIRS,
        "amount_typed": "4.5 cm",
        "basis": "total",
        "measure": "take_off",
        "work_order": 40,
        "stitch": "103",
    }
    return Line(**told | facts)


def a_piece(*lines: Line, letter: str = "A", **facts: Any) -> Piece:
    told = {"kind_name": "Trousers", "colour": "navy"} | facts
    return Garment(letter=letter, **told), list(lines) or [a_line()]


def wedding() -> list[Piece]:
    """Three pieces with all that is usually noted."""
    return [
        a_piece(
            a_line(
                name="Take in side seams", unit_price=3000, minutes_each=60, amount_typed="2 cm",
                basis="each", work_order=10, stitch="301", surcharges=[LINED], fitting_first=True,
            ),
            a_line(note="keep the original edge", surcharges=[LINED], fitting_first=True),
            kind_name="Evening dress", colour="bottle green", heel_typed="7 cm",
            description="long, boat neck, covered buttons at the back",
            condition="small pull in the cloth at the left hip", things_left="belt, shoes",
            washed="no",
        ),
        a_piece(a_line(), letter="B", description="wool, straight leg"),
        a_piece(
            a_line(
                name="Replace button", unit_price=250, quantity=4, minutes_each=8, amount_typed="",
                basis="", measure="", stitch="", work_order=30, tax=STANDARD,
            ),
            letter="C", kind_name="Coat", colour="camel", worn="new",
        ),
    ]  # fmt: skip


def heavy(lines: int = 12, pieces: int = 9, **facts: Any) -> list[Piece]:
    """More than any counter takes down: every text as long as its field, on every line."""
    told = {
        "kind_name": "Wedding dress with train"[:60],
        "colour": "ivory over champagne with a rose-gold thread, hand-beaded"[:60],
        "description": ("eight layers of tulle, " * 20)[:200],
        "condition": ("a mark beside the left seam, " * 20)[:500],
        "things_left": ("underskirt, shoes, veil, " * 10)[:200],
        "heel_typed": "8.5 cm",
    } | facts
    return [
        a_piece(
            *(
                a_line(
                    name=f"{index + 1}: " + ("shorten the sleeves from the shoulder " * 3)[:74],
                    note=("sew by hand, keep the lace whole; " * 10)[:200],
                    surcharges=[LINED],
                    fitting_first=index % 2 == 0,
                )
                for index in range(lines)
            ),
            letter="ABCDEFGHI"[piece],
            **told,
        )
        for piece in range(pieces)
    ]


def agreed(
    *pieces: Piece, studio: Profile | None = None, client: Client | None = None, **facts: Any
) -> dict[str, Any]:
    """The frozen data of an agreement. ``facts`` are those of the ticket."""
    studio = studio or a_studio()
    garments: Sequence[Piece] = pieces or [a_piece()]
    told: dict[str, Any] = {
        "number": "26-0143",
        "received_at": datetime(2026, 11, 27, 10, 5, tzinfo=UTC),
        "promise_at": datetime(2026, 12, 4, 17, 0, tzinfo=UTC),
        "currency": studio.currency,
        "terms": {
            "currency": studio.currency,
            "tax_mode": studio.tax_mode,
            "rounding_step": 1,
            "minimum_charge": 0,
            "deposit_percent": "0",
        },
        "deposit": 2000,
        "rush_percent": Decimal(0),
        "discount_percent": Decimal(0),
        "wanted_by": date(2026, 12, 5),
        "event": "a wedding",
        "note": "Sister of the bride; call before cutting.",
    } | facts
    ticket = Ticket(client=client or a_client(), **told)
    lines = [line for _, pieces_lines in garments for line in pieces_lines]
    quote = quote_lines(ticket, lines, ticket.terms)
    return agreement_data(ticket, list(garments), quote, studio)
