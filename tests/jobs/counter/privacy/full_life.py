"""A client of whom everything is kept that can be kept, told in words found nowhere else."""

import io
from dataclasses import dataclass, fields
from datetime import timedelta
from uuid import uuid4

from PIL import Image

from clients.actions import merge
from clients.models import Client, ClientFile, Measured, Sheet
from jobs.billing.actions import issue_invoice, record_payment
from jobs.billing.documents import invoice_paper, receipt_paper
from jobs.billing.models import Invoice, Payment
from jobs.makes.ideas.actions import sew_for
from jobs.planning.actions import todo
from jobs.tickets import actions
from jobs.tickets.actions.agree import give_initials
from jobs.tickets.actions.photographs import place_mark
from jobs.tickets.documents import TicketPapers
from jobs.tickets.models import CautionRead, FitSum, Pad, PadNumber, Ticket
from studio.shop import clock
from studio.shop.models import Profile, User
from studio.shop.paper.printers import PAPERS
from tests import factories as f
from tests.drafts import hem, received, take_in, trousers

ADDRESS = "http://testserver/t/26-0001/"


@dataclass(frozen=True)
class Told:
    """Every word typed of the client. None is a part of another text of the database."""

    name: str = "Oonagh Quillfeather"
    other_name: str = "Una Quillfether"
    phone: str = "089 777 6543"
    other_phone: str = "089 777 1298"
    email: str = "oonagh@quill.example"
    street: str = "17 Plumstone Row"
    daughter: str = "daughter Clementia"
    daughter_phone: str = "089 777 4417"
    cottage: str = "2 Gorsewood Steps"
    clerk: str = "clerk Montague"
    notes: str = "allergic to mohairdust"
    guardian: str = "Guardian Brannigan"
    worn: str = "thin vestlet"
    sheet_note: str = "left shoulderblade lower"
    typed: str = "93.6625 cm"
    millimetres: str = "936.625"
    event: str = "the Ashgrove christening"
    ticket_note: str = "call the aunt Philomena"
    description: str = "with swansdown cuffs"
    condition: str = "scorched at placket"
    things_left: str = "brooch of jetstone"
    shoes: str = "silver court slippers"
    line_note: str = "keep the ricrac"
    amount: str = "4.3 cm"
    reason: str = "rang about the twins"
    mark: str = "moth hole here"
    letters: str = "OQF"
    fit_words: str = "thigh wants easing"
    asked: str = "her stepmother insists"
    wait: str = "shorter for Fintan?"
    fitting: str = "brings her stepsister"
    to_do: str = "ring about the petticoat"
    bench: str = "slow because of tremble"
    message: str = "dear Oona come by sledge"
    why: str = "lace from Grandaunt too frail"
    payment: str = "paid by Uncle Thaddeus"

    def words(self) -> list[str]:
        return [getattr(self, field.name) for field in fields(self)]


TOLD = Told()
PRINTED = {TOLD.name, TOLD.clerk, TOLD.phone, TOLD.email, TOLD.street, TOLD.payment, TOLD.amount}
"""What invoices and receipts may go on telling."""


@dataclass(frozen=True)
class Life:
    client: Client
    merged: Client
    ticket: Ticket
    invoice: Invoice
    payment: Payment


def full_life(studio: Profile, by: User) -> Life:
    """From the drop-off to the collected, paid and printed ticket."""
    client = f.ClientFactory(
        name=TOLD.name, phone=TOLD.phone, email=TOLD.email, street=TOLD.street, notes=TOLD.notes,
        contact_person=TOLD.clerk,
    )  # fmt: skip
    f.ContactFactory(client=client, label=TOLD.daughter, value=TOLD.daughter_phone)
    f.ContactFactory(client=client, kind="address", value="", street=TOLD.cottage)
    file = ClientFile.objects.create(name="clients.csv", state="people", by=by, at=clock.now())
    file.rows.create(line=2, client=client, facts={"phone": TOLD.daughter_phone})
    # Nobody has looked whether it is the client, but it has the name.
    file.rows.create(line=3, name_key=client.name_key, cells={"tel": TOLD.cottage})
    twin = f.ClientFactory(name=TOLD.other_name, phone=TOLD.other_phone)
    merge(keep=client, other=twin, by=by, facts={"name": TOLD.name, "phone": TOLD.phone})
    client.refresh_from_db()
    measure(client, by)
    sew_for(make=f.MakeFactory(), client=client, by=by)
    ticket = bring(studio, by, client)
    work(ticket, by)
    return settle(studio, by, ticket, twin)


def measure(client: Client, by: User) -> Sheet:
    sheet = Sheet.objects.create(
        client=client, taken_on=clock.today(), taken_by=by, consent_on=clock.today(), minor=True,
        born=1931, guardian=TOLD.guardian, worn=TOLD.worn, note=TOLD.sheet_note, sensitive=True,
        pregnant=True, week=37,
    )  # fmt: skip
    Measured.objects.create(
        sheet=sheet, key="bust", mm=TOLD.millimetres, typed=TOLD.typed, unit="cm"
    )
    return sheet


def bring(studio: Profile, by: User, client: Client) -> Ticket:
    piece = trousers(
        hem(note=TOLD.line_note, amount_typed=TOLD.amount, amount_mm="43"), take_in(),
        description=TOLD.description, condition=TOLD.condition, things_left=TOLD.things_left,
    )  # fmt: skip
    ticket = received(
        studio, by, piece, client=client, event=TOLD.event, note=TOLD.ticket_note,
        wanted_by=clock.today() + timedelta(days=9),
    )  # fmt: skip
    ticket.garments.update(shoes=TOLD.shoes, heel_typed="6.2 cm", heel_mm="62")
    photograph(ticket)
    ticket = actions.move_promise(
        ticket=ticket, promise_at=ticket.promise_at + timedelta(days=1), studio=studio, by=by,
        reason=TOLD.reason,
    )  # fmt: skip
    agreement = ticket.agreements.get(version=2)
    give_initials(agreement=agreement, way="glass", letters=TOLD.letters, by=by, ink=drawn())
    studio.printers = [{"name": "Sheets", "size": "A4", "papers": list(PAPERS)}]
    for version in ticket.agreements.all():
        papers = TicketPapers(version, studio, ADDRESS)
        papers.stored_agreement()
        papers.stored_claim()
        papers.stored_press(papers.presses()[0])
    return ticket


def drawn() -> bytes:
    """A stroke on the glass."""
    png = io.BytesIO()
    Image.new("RGB", (60, 20), "white").save(png, "PNG")
    return png.getvalue()


def photograph(ticket: Ticket) -> None:
    photo = f.PhotoFactory(garment=ticket.garments.get())
    place_mark(photo=photo, across=500, down=250, words=TOLD.mark, by=ticket.received_by)
    f.PhotoFactory(garment=None, form_key=ticket.form_key)


def work(ticket: Ticket, by: User) -> None:
    garment = ticket.garments.get()
    first, second = garment.lines.all()
    FitSum.objects.create(
        garment=garment, line=second, kind="hem", asked={"note": TOLD.fit_words},
        answer={"words": TOLD.fit_words}, edge_mm="1100", layers=1, made_at=clock.now(), made_by=by,
    )  # fmt: skip
    CautionRead.objects.create(garment=garment, key="child", at=clock.now(), by=by)
    fitting = f.FittingFactory(ticket=ticket, note=TOLD.fitting, state="kept")
    f.AfterFittingFactory(line=second, fitting=fitting)
    f.ReadyToCutFactory(line=second, by=by)
    f.SewingDayFactory(line=second)
    f.WaitFactory(line=second, question=TOLD.wait, ended_at=clock.now(), by=by)
    f.BenchTimeFactory(line=second, note=TOLD.bench, by=by)
    todo.add_todo(words=TOLD.to_do, side="studio", on=ticket, by=by)
    f.HoursTakenFactory(ticket=ticket, by=by)
    pad = Pad.objects.create(made_at=clock.now(), made_by=by)
    PadNumber.objects.create(pad=pad, number=ticket.number, ticket=ticket)
    actions.ask_change(
        ticket=ticket, delta=[["added", TOLD.asked]], form=f"note={TOLD.asked}", by=by,
        reason=TOLD.asked,
    )  # fmt: skip
    actions.why_not_done(line=first, why=TOLD.why, by=by)
    actions.tick_all(ticket=ticket, by=by)
    actions.mark_ready(ticket=ticket, by=by)
    actions.remember_told(
        ticket=ticket, kind="ready", about="", way="text", text=TOLD.message, by=by
    )
    actions.open_client_page(ticket=ticket, by=by)


def settle(studio: Profile, by: User, ticket: Ticket, twin: Client) -> Life:
    ticket.refresh_from_db()
    invoice = issue_invoice(ticket=ticket, by=by, studio=studio, form_key=uuid4())
    payment = record_payment(
        ticket=ticket, amount=ticket.gross, method="cash", kind="balance", by=by, studio=studio,
        form_key=uuid4(), note=TOLD.payment,
    )  # fmt: skip
    invoice_paper(invoice, studio=studio, address=ADDRESS)
    receipt_paper(payment, studio=studio, address=ADDRESS)
    garments = ticket.garments.all()
    actions.hand_over(ticket=ticket, garments=garments, tried_on=garments, by=by)
    ticket.refresh_from_db()
    twin.refresh_from_db()
    return Life(ticket.client, twin, ticket, invoice, payment)
