"""What the addresses of the table speak of: each function makes it and gives the arguments."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from django.core.files.base import ContentFile

from clients.actions import change_client, merge
from jobs.makes.models import JournalBook
from jobs.tickets import actions as tickets
from jobs.tickets.actions import pads
from studio.backup.options import copies_folder
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.words import phrases
from studio.shop.words.views import key_of
from tests import factories as f
from tests.clients.desk import read
from tests.drafts import received

Arguments = dict[str, Any]


def pk_of(maker: type) -> Callable[[], Arguments]:
    return lambda: {"pk": maker().pk}


def a_finished_make_to_judge() -> Arguments:
    f.MakeFactory(state="finished", finished_on=clock.today())
    return {"year": clock.today().year, "act": "made"}


def a_change_to_carry() -> Arguments:
    make = f.MakeFactory(pattern=f.PatternFactory(), changes="Longer by 3 cm")
    return {"pk": make.pattern_id, "make": make.pk}


def a_release_with(kind: str) -> Callable[[], Arguments]:
    def made() -> Arguments:
        release = f.ReleaseFactory()
        row = f.MakeFactory() if kind == "sample" else f.PictureFactory()
        (release.samples if kind == "sample" else release.pictures).add(row)
        return {"pk": release.pk, "row": row.pk}

    return made


def a_journal() -> Arguments:
    book = JournalBook(year=clock.today().year, page="A5", state="done", asked_at=clock.now())
    book.file.save("a5.pdf", ContentFile(b"%PDF-1.7"), save=True)
    return {"year": book.year, "page": book.page}


def a_phrase() -> Arguments:
    return {"code": "pl", "key": key_of(phrases()["{count} piece"])}


def a_copy() -> Arguments:
    name = "studio-2026-03-01T020000Z.zip"
    (copies_folder() / name).write_bytes(b"PK")
    return {"name": name}


def a_merge() -> Arguments:
    keep, other = f.ClientFactory(), f.ClientFactory()
    return {"pk": merge(keep=keep, other=other, by=f.UserFactory(), facts={}).pk}


def a_client_file() -> Arguments:
    f.ClientFactory(name="Mary Larkin", phone="086 555 0143", city="")
    table = (
        "name,phone,town\nMary Larkin,086 555 0143,Larkfield\nTom Larkin,086 555 0143,\n,1234,\n"
    )
    return {"pk": read(table).pk}


def a_change() -> Arguments:
    client, by = f.ClientFactory(), f.UserFactory()
    change_client(client=client, facts={"notes": "tall"}, by=by)
    return {"pk": client.latest_entries[0].pk}


def a_ticket() -> Arguments:
    return {"number": received(Profile.objects.get(), f.UserFactory()).number}


def an_asked_change() -> Arguments:
    asked = f.AskedChangeFactory(pk=1)
    return {"number": asked.ticket.number}


def a_client_page() -> Arguments:
    studio = Profile.objects.get()
    studio.page_address = "https://studio.example"
    studio.save()
    return {"key": f.ClientPageFactory().key}


def a_pad() -> Arguments:
    return {"pk": pads.reserve(count=3, form_key=uuid4(), by=f.UserFactory()).pk}


def a_cancelled_ticket() -> Arguments:
    by = f.UserFactory()
    ticket = received(Profile.objects.get(), by)
    tickets.cancel(ticket=ticket, why="Changed their mind", by=by)
    return {"number": ticket.number}


def a_collected_ticket() -> Arguments:
    by = f.UserFactory()
    ticket = received(Profile.objects.get(), by)
    tickets.tick_all(ticket=ticket, by=by)
    tickets.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=by)
    return {"number": ticket.number}


def a_line() -> Arguments:
    ticket = received(Profile.objects.get(), f.UserFactory())
    return {"pk": ticket.garments.get().lines.get().pk}


def a_garment() -> Arguments:
    ticket = received(Profile.objects.get(), f.UserFactory())
    return {"pk": ticket.garments.get().pk}


def a_child_garment() -> Arguments:
    return {"pk": f.GarmentFactory(kind=f.GarmentKindFactory(concern="child")).pk}


# Addresses that need no login, by name. Everything else is private.
