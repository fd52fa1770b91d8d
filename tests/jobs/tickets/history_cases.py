"""Each verb of a ticket, done once."""

from decimal import Decimal
from uuid import uuid4

from jobs.tickets import actions, verbs
from jobs.tickets.actions import pads, photographs
from jobs.tickets.actions.agree import give_initials
from jobs.tickets.actions.photographs import place_mark, remove_mark
from jobs.tickets.fit import actions as fit
from jobs.tickets.fit.answers import Pin
from jobs.tickets.fit.sums import SUMS
from studio.shop.pictures import redraw
from tests import factories
from tests.drafts import draft, hem, received, trousers
from tests.history_cases import House, case
from tests.studio.shop.test_pictures import drawn as jpeg
from tests.studio.shop.test_pictures import upload
from tests.studio.shop.test_pictures_ink import drawn

NEW_VERSION = ("tickets.agreement",)


@case(verbs.RECEIVED)
def receive(house: House):
    client = factories.ClientFactory()
    yield
    actions.receive(client=client, draft=draft(), studio=house.studio, by=house.owner)


def change(house: House, reason: str = "", **facts):
    """Agree what ``facts`` say of the first line."""
    agreed = actions.draft_of(house.ticket)
    for name, value in facts.items():
        setattr(agreed.garments[0].lines[0], name, value)
    actions.change(
        ticket=house.ticket, draft=agreed, studio=house.studio, by=house.owner, reason=reason
    )


@case(verbs.AGREED, leaves=NEW_VERSION, money=True)
def change_a_price(house: House):
    house.line()
    yield
    change(house, unit_price=12345, reason="silk after all")


@case(verbs.AGREED, leaves=NEW_VERSION, money=True)
def change_the_pieces(house: House):
    agreed = actions.draft_of(house.ticket)
    yield
    agreed.garments[0].lines[1:] = [hem(name="Taper", surcharges=[])]
    agreed.garments[1:] = [trousers(colour="red")]
    agreed.rush_percent, agreed.event = Decimal("12.5"), "wedding"
    actions.change(
        ticket=house.ticket, draft=agreed, studio=house.studio, by=house.owner, reason=""
    )


@case(verbs.AGREED, leaves=NEW_VERSION)
def change_an_amount(house: House):
    house.line()
    yield
    change(house, amount_mm=Decimal("63.5"), amount_typed="2 1/2 in")


@case(verbs.MEASURED, leaves=NEW_VERSION)
def measure(house: House):
    line = house.line()
    change(house, amount_mm=None, amount_typed="", measure_later=True)
    yield
    pin = Pin(Decimal("63.5"), "2 1/2 in", "let_out", "leg")
    actions.measure(line=line, pin=pin, studio=house.studio, by=house.owner)


@case(verbs.EDITED)
def change_a_note(house: House):
    agreed = actions.draft_of(house.ticket)
    yield
    agreed.note, agreed.garments[0].lines[0].minutes_each = "ring first", 150
    agreed.garments[0].iron = "2"
    actions.change(
        ticket=house.ticket, draft=agreed, studio=house.studio, by=house.owner, reason=""
    )


@case(verbs.STARTED)
def start(house: House):
    ticket = house.ticket
    yield
    actions.start(ticket=ticket, by=house.owner)


@case(verbs.DONE)
def tick(house: House):
    line = house.line()
    yield
    actions.tick(line=line, by=house.owner)


@case(verbs.NOT_DONE_AFTER_ALL)
def untick(house: House):
    line = house.line()
    actions.tick_all(ticket=house.ticket, by=house.owner)
    actions.mark_ready(ticket=house.ticket, by=house.owner)
    yield
    actions.untick(line=line, by=house.owner)


@case(verbs.ALL_DONE)
def tick_all(house: House):
    ticket = house.ticket
    yield
    actions.tick_all(ticket=ticket, by=house.owner)


@case(verbs.NOT_DONE)
def why_not_done(house: House):
    line = house.line()
    yield
    actions.why_not_done(line=line, why="too frayed", by=house.owner)


@case(verbs.READY)
def mark_ready(house: House):
    actions.tick_all(ticket=house.ticket, by=house.owner)
    yield
    actions.mark_ready(ticket=house.ticket, by=house.owner)


@case(verbs.HANDED_OVER)
def hand_over(house: House):
    actions.tick_all(ticket=house.ticket, by=house.owner)
    garments = list(house.ticket.garments.all())
    yield
    actions.hand_over(ticket=house.ticket, garments=garments, tried_on=garments[:1], by=house.owner)


@case(verbs.CANCELLED)
def cancel(house: House):
    ticket = house.ticket
    yield
    actions.cancel(ticket=ticket, why="moved away", by=house.owner)


@case(verbs.CANCELLED)
def cancel_and_take_it_along(house: House):
    ticket = house.ticket
    yield
    actions.cancel(ticket=ticket, why="moved away", leaves=True, by=house.owner)


@case(verbs.HANDED_BACK)
def hand_back(house: House):
    actions.cancel(ticket=house.ticket, why="moved away", by=house.owner)
    yield
    actions.hand_back(ticket=house.ticket, by=house.owner)


@case(verbs.PAD_RESERVED)
def reserve_a_pad(house: House):
    yield
    pads.reserve(count=3, form_key=uuid4(), by=house.owner)


@case(verbs.PAD_VOIDED)
def void_a_number_of_a_pad(house: House):
    pad = pads.reserve(count=3, form_key=uuid4(), by=house.owner)
    numbers = [str(one) for one in pad.numbers.all()[:2]]
    yield
    pads.void(pad=pad, numbers=numbers, why="spoilt", by=house.owner)


@case(verbs.HUNG)
def hang(house: House):
    garments = list(house.ticket.garments.all())
    yield
    actions.hang(ticket=house.ticket, garments=garments, place="rail 2", by=house.owner)


@case(verbs.WORN, leaves=NEW_VERSION)
def note_worn(house: House):
    garment = house.ticket.garments.first()
    first = actions.WornWith(Decimal(80), "8 cm", "court shoes", "")
    actions.note_worn(garment=garment, worn=first, by=house.owner)
    yield
    worn = actions.WornWith(Decimal(55), "5.5 cm", "sandals", "body")
    actions.note_worn(garment=garment, worn=worn, by=house.owner)


@case(verbs.CARE)
def note_care(house: House):
    garment = house.ticket.garments.first()
    yield
    actions.note_care(garment=garment, fibre="80 % wool", iron="2", by=house.owner)


@case(verbs.CLOTH)
def note_cloth(house: House):
    garment = house.ticket.garments.first()
    yield
    actions.note_cloth(garment=garment, cloth="velvet", by=house.owner)


@case(verbs.PIECE_MEASURED)
def measure_piece(house: House):
    garment = house.ticket.garments.first()
    yield
    lengths = {"piece": {"waist_flat": "42 cm"}, "fits": {"waist_flat": "40 cm"}}
    actions.measure_piece(garment=garment, measures=lengths, by=house.owner)


@case(verbs.CAUTION_READ)
def read_caution(house: House):
    kind = factories.GarmentKindFactory(concern="child_night")
    ticket = received(house.studio, house.owner, trousers(kind_id=kind.pk))
    yield
    actions.read_caution(garment=ticket.garments.get(), key="night", by=house.owner)


def hem_sum(house: House):
    """A sum of a hem with its answer: cut at 85 cm."""
    garment = house.ticket.garments.first()
    form = SUMS["hem"](
        {"garment": "trousers", "floor": "80", "heel": "3", "above": "2", "depth": "4",
         "layers": "1"},
        studio=house.studio,
    )  # fmt: skip
    assert form.is_valid(), form.errors
    return garment, form, form.answer(garment)


def keep_sum(house: House, garment, form, answer):
    return fit.keep(
        garment=garment, kind="hem", asked=form.asked(), answer=answer, unit=form.unit,
        by=house.owner,
    )  # fmt: skip


@case(verbs.SUM_KEPT)
def keep_a_sum(house: House):
    hemmed = hem_sum(house)
    yield
    keep_sum(house, *hemmed)


@case(verbs.AGREED, leaves=NEW_VERSION)
def agree_a_sum_on_a_line(house: House):
    garment, form, answer = hem_sum(house)
    kept = keep_sum(house, garment, form, answer)
    line = garment.lines.get(name="Hem")
    yield
    fit.put_on_line(kept=kept, answer=answer, line=line, studio=house.studio, by=house.owner)


@case(verbs.PHOTOGRAPHED)
def photograph(house: House):
    garment = house.ticket.garments.first()
    picture = redraw(upload(jpeg("JPEG")))
    yield
    photographs.add(picture, garment=garment, by=house.owner)


@case(verbs.MARKED)
def mark_a_spot(house: House):
    photo = factories.PhotoFactory(garment=house.ticket.garments.first())
    yield
    place_mark(photo=photo, across=250, down=500, words="loose bead", by=house.owner)


@case(verbs.UNMARKED)
def take_a_mark_off(house: House):
    photo = factories.PhotoFactory(garment=house.ticket.garments.first())
    mark = place_mark(photo=photo, across=250, down=500, words="loose bead", by=house.owner)
    yield
    remove_mark(mark=mark, by=house.owner)


@case(verbs.INITIALLED)
def initial(house: House):
    agreement = house.ticket.agreements.get()
    yield
    give_initials(agreement=agreement, way="glass", letters="MT", ink=drawn(), by=house.owner)


LATER = [["ready", "2026-03-18T17:00:00+00:00", "2026-03-23T17:00:00+00:00"]]


@case(verbs.ASKED)
def ask_for_five_days(house: House):
    ticket = house.ticket
    yield
    actions.ask_change(ticket=ticket, delta=LATER, by=house.owner)


@case(verbs.ACCEPTED)
def say_yes(house: House):
    asked = actions.ask_change(ticket=house.ticket, delta=LATER, by=house.owner)
    yield
    actions.answer_change(asked=asked, accepted=True, by=house.owner)


@case(verbs.REFUSED)
def say_no(house: House):
    asked = actions.ask_change(ticket=house.ticket, delta=LATER, by=house.owner)
    yield
    actions.answer_change(asked=asked, accepted=False, by=house.owner)


@case(verbs.LAPSED)
def cancel_before_it_is_answered(house: House):
    ticket = house.ticket
    actions.ask_change(ticket=ticket, delta=LATER, by=house.owner)
    yield
    actions.cancel(ticket=ticket, why="moved away", by=house.owner)


@case(verbs.TOLD)
def tell_that_it_came_in(house: House):
    ticket = house.ticket
    yield
    actions.remember_told(
        ticket=ticket, kind="received", about="", way="text", text="It came in.",
        by=house.owner,
    )  # fmt: skip


def a_mail(house: House):
    return actions.begin_mail(
        ticket=house.ticket, kind="received", about="", text="It came in.", by=house.owner,
        form_key=uuid4(),
    )  # fmt: skip


@case(verbs.MAILED)
def send_a_mail(house: House):
    message = a_mail(house)
    yield
    actions.end_mail(message=message, wrong="", by=house.owner)


@case(verbs.NOT_MAILED)
def send_a_mail_in_vain(house: House):
    message = a_mail(house)
    yield
    actions.end_mail(message=message, wrong="The address was refused.", by=house.owner)


@case(verbs.PAGE_OPENED)
def open_the_client_s_page(house: House):
    yield
    actions.open_client_page(ticket=house.ticket, by=house.owner)


@case(verbs.PAGE_RENEWED)
def renew_the_client_s_page(house: House):
    actions.open_client_page(ticket=house.ticket, by=house.owner)
    yield
    actions.renew_client_page(ticket=house.ticket, by=house.owner)


@case(verbs.PAGE_CLOSED)
def close_the_client_s_page(house: House):
    actions.open_client_page(ticket=house.ticket, by=house.owner)
    yield
    actions.close_client_page(ticket=house.ticket, by=house.owner)
