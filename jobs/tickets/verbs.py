"""What is done with a ticket, and the sentences that tell of it."""

from collections.abc import Callable

from clients.cautions.garments import SAFETY
from jobs.tickets.agreements import tell_deltas, tell_worn
from jobs.tickets.models import Garment, Line, Ticket
from studio.shop.history import Verb, fields
from studio.shop.history.recording import field_of
from studio.shop.history.verbs import MISSING, Parameters

# What an agreement comes to follows from its lines and terms; a version is never given again.
fields(Ticket, derived=("version", "net", "tax", "gross", "minutes"))

CARRIERS = {"ticket": Ticket, "garment": Garment, "line": Line}


def _received(facts: Parameters, locale: str) -> str:
    pieces = facts["pieces"]
    paper = ", from the pad" if facts["pad"] is True else ""
    return f"Received, {pieces} garment{'' if pieces == 1 else 's'}{paper}."


def _agreed(facts: Parameters, locale: str) -> str:
    delta = facts["delta"]
    words = delta if isinstance(delta, str) else tell_deltas(delta, locale)
    return f"Saved as a new version: {words}" + (f" ({facts['reason']})" if facts["reason"] else "")


def _about_a_question(says: str) -> Callable[[Parameters, str], str]:
    def tell(facts: Parameters, locale: str) -> str:
        delta = facts["delta"]
        return f"{says}: {delta if isinstance(delta, str) else tell_deltas(delta, locale)}."

    return tell


def _edited(facts: Parameters, locale: str) -> str:
    """Each of ``fields`` is the row in words, its kind, and the names of its fields."""
    rows = [
        f"{row}: {names}" if row else names
        for row, kind, columns in facts["fields"]
        for names in [", ".join(_called(kind, column) for column in columns)]
    ]
    return f"Changed: {'; '.join(rows)}." if rows else "Changed."


def _called(kind: str, column: str) -> str:
    """What a field is called today; its column where the program has it no longer."""
    model = CARRIERS.get(kind)
    field = model and field_of(model, column)
    return str(field.verbose_name) if field else column.replace("_", " ")


def _worn(facts: Parameters, locale: str) -> str:
    return f"{tell_worn(facts['letter'], facts['parts'])}."


def _care(facts: Parameters, locale: str) -> str:
    label = Garment.Iron(facts["iron"]).label if facts["iron"] != MISSING else MISSING
    words = "; ".join(part for part in (facts["fibre"], label) if part)
    return f"Care label of {facts['letter']}: {words}."


def _cloth(facts: Parameters, locale: str) -> str:
    cloth = facts["cloth"]
    label = Garment.ClothKind(cloth).label if cloth else "not noted"
    return f"Cloth of {facts['letter']}: {label}."


def _hung(facts: Parameters, locale: str) -> str:
    letters = " and ".join(facts["letters"])
    hangs = "hang" if len(facts["letters"]) > 1 else "hangs"
    return f"{letters} {hangs}: {facts['place']}." if facts["place"] else f"{letters}: no place."


def _caution(facts: Parameters, locale: str) -> str:
    return f"Caution of {facts['letter']} read: {SAFETY[facts['key']].title}."


RECEIVED = Verb("ticket.receive", _received, undo=False, stays=("pieces", "pad"))
PAD_RESERVED = Verb(
    "pad.reserve", "Pad of {count} paper tickets: {first} to {last}.", undo=False,
    stays=("count", "first", "last"),
)  # fmt: skip
PAD_VOIDED = Verb("pad.void", "Void: {numbers:list} ({why}).", stays=("numbers",))
AGREED = Verb("ticket.change", _agreed)
MEASURED = Verb("line.measure", "Measured {letter} {name}: {amount}.", stays=("letter", "name"))
EDITED = Verb("ticket.edit", _edited)
ASKED = Verb("ticket.ask", _about_a_question("Asks the owner"))
ACCEPTED = Verb("ticket.accept", _about_a_question("The owner says yes"), undo=False)
REFUSED = Verb("ticket.refuse", _about_a_question("The owner says no"), undo=False)
LAPSED = Verb("ticket.lapse", _about_a_question("Nobody answered what was asked"), undo=False)

LINE = ("letter", "name")
STARTED = Verb("ticket.start", "Work started.")
DONE = Verb("ticket.tick", "Done: {letter} {name}.", stays=LINE)
NOT_DONE_AFTER_ALL = Verb("ticket.untick", "Not done after all: {letter} {name}.", stays=LINE)
ALL_DONE = Verb("ticket.tick_all", "Done: all {count} open operations.", stays=("count",))
NOT_DONE = Verb("ticket.why_not", "Not done: {letter} {name} ({why}).", stays=LINE)
READY = Verb("ticket.ready", "Ready to collect.")
HANDED_OVER = Verb("ticket.hand_over", "Handed over: {letters:list}.", stays=("letters",))
CANCELLED = Verb("ticket.cancel", "Cancelled: {why}.")
HANDED_BACK = Verb("ticket.hand_back", "Handed back: {letters:list}.", stays=("letters",))

WORN = Verb("garment.worn", _worn)
CARE = Verb("garment.care", _care)
CLOTH = Verb("garment.cloth", _cloth, stays=("letter", "cloth"))
PIECE_MEASURED = Verb("garment.measure", "{letter} laid flat: {says}.", stays=("letter",))
HUNG = Verb("garment.hang", _hung, stays=("letters",))
CAUTION_READ = Verb("garment.caution", _caution, undo=False, stays=("letter", "key"))
SUM_KEPT = Verb("garment.fit", "Sum kept with {letter}: {says}.")

PHOTOGRAPHED = Verb("photo.add", "Photograph of {letter}.", stays=("letter",))
MARKED = Verb("mark.place", "Mark {number} on a photograph of {letter}: {words}.")
UNMARKED = Verb("mark.remove", "Mark {number} removed from a photograph of {letter}: {words}.")
INITIALLED = Verb(
    "agreement.initials", "Version {version} signed {way:lower}: {letters}.", undo=False
)

MESSAGE = ("kind", "way")
TOLD = Verb("message.sent", "Told: {kind:lower} ({way}).", stays=MESSAGE)
MAILED = Verb("message.mailed", "E-mail sent: {kind:lower}.", undo=False, stays=("kind",))
NOT_MAILED = Verb(
    "message.not_mailed", "E-mail not sent: {kind:lower}. {why}", undo=False, stays=("kind",)
)
PAGE_OPENED = Verb("page.open", "Page for the client opened.", undo=False)
PAGE_RENEWED = Verb("page.renew", "Page for the client has a new address.", undo=False)
PAGE_CLOSED = Verb("page.close", "Page for the client closed.")
