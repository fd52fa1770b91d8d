"""The agreement on paper: all that was agreed, each state of it stored once."""

import pytest
from django.urls import reverse

from jobs.tickets import actions
from jobs.tickets.actions import WornWith
from jobs.tickets.actions.agree import give_initials
from jobs.tickets.actions.photographs import place_mark, remove_mark
from jobs.tickets.documents.layouts import agreement, ticket_facts
from jobs.tickets.documents.papers import marked_photographs
from jobs.tickets.models import AgreementSheet
from jobs.tickets.queries import marked_photos
from studio.shop import paper
from studio.shop.models import Profile, StoredPaper
from tests import papers, proofreading
from tests.drafts import hem, received, trousers
from tests.factories import ClientFactory, PhotoFactory
from tests.papers_data import ADDRESS, agreed, heavy, wedding
from tests.studio.shop.test_pictures_ink import drawn
from tests.thorough import thinned

SIZES = {"A4": (210, 297), "Letter": (215.9, 279.4), "A5": (148, 210)}


@pytest.fixture
def ticket(studio, owner):
    worn = trousers(hem(), shoes="black pumps", underwear="low-backed bodice", condition="stain")
    return received(studio, owner, worn, client=ClientFactory(name="Maeve Tuohy"))


@pytest.fixture
def photo(ticket):
    size = {"file__width": 300, "file__height": 400, "width": 300, "height": 400}
    return PhotoFactory(garment=ticket.garments.get(), **size)


@pytest.fixture
def put(photo, owner):
    return lambda words, down=250: place_mark(
        photo=photo, across=500, down=down, words=words, by=owner
    )


@pytest.fixture
def fetch(ticket, owner_client):
    def get(version=1, name="agreement-paper") -> bytes:
        args = [ticket.number] + ([version] if name == "agreement-paper" else [])
        with papers.no_complaints():
            answer = owner_client.get(reverse(name, args=args))
        assert answer.headers["Content-Type"] == "application/pdf"
        return answer.content

    return get


def printed(size: str, *pieces, shown=()) -> bytes:
    facts = ticket_facts(agreed(*pieces), address=ADDRESS)
    facts |= {"agreed_at": facts["received_at"], "replaces": 0}
    with papers.no_complaints():
        return paper.write([agreement(facts, page=size, shown=shown)], title="Agreement")


@pytest.mark.parametrize("size", thinned(SIZES, {"A5"}.__contains__))
@pytest.mark.parametrize("pieces", [wedding(), heavy(lines=4, pieces=3)], ids=["usual", "heavy"])
def test_it_is_readable_on_every_sheet(size, pieces):
    pdf = printed(size, *pieces)
    assert set(papers.sizes(pdf)) == {SIZES[size]}
    assert papers.margins_broken(pdf, size) == []
    assert papers.printed_over(pdf) == []
    assert papers.broken_figures(pdf) == []


def test_it_says_what_was_agreed(fetch):
    text = papers.text(fetch())
    for words in (
        "Agreement, version 1",
        "Maeve Tuohy",
        "Hem, take off 4.5 cm, total €24.00",
        "Noted: stain · Shoes: black pumps · Underwear: low-backed bodice",
        "Total €24.00",
        "I agree to the work, the prices, the state of the pieces as noted",
        "Initials of Maeve Tuohy",
    ):
        assert words in text
    assert "marked" not in text


def test_marks_and_their_words_stand_on_agreement_and_work_sheet(fetch, put):
    put("stain, was there")
    put("pinned here", down=750)
    for name in ("agreement-paper", "ticket-work-sheet"):
        pdf = fetch(name=name)
        text = papers.text(pdf)
        assert "A 1 stain, was there A 2 pinned here" in text
        assert pdf.count(b"/DCTDecode") == 1
        drawn_over = numbers_drawn_over_the_picture(pdf)
        assert drawn_over == ["1", "2"], name
        assert proofreading.structure_faults(pdf, usual=True) == []


def numbers_drawn_over_the_picture(pdf: bytes) -> list[str]:
    """Those in the middle of a picture 57 mm wide, whose left edge is the margin of the sheet."""
    middle = paper.PAGES["A4"].side + 57 / 2
    return [
        word["text"]
        for page in papers.words(pdf)
        for word in page
        if word["text"].isdecimal() and abs((word["x0"] + word["x1"]) / 2 - middle) < 1
    ]


def test_a_number_stands_where_the_mark_was_put(photo, owner, ticket):
    place_mark(photo=photo, across=500, down=500, words="middle", by=owner)
    shown = marked_photographs(marked_photos(ticket))
    assert numbers_drawn_over_the_picture(printed("A4", *wedding(), shown=shown)) == ["1"]


def test_each_state_is_stored_once_and_kept(fetch, put, ticket, owner):
    bare = fetch()
    assert fetch() == bare
    put("stain")
    marked = fetch()
    assert fetch() == marked
    version = ticket.agreements.get()
    give_initials(agreement=version, way="glass", letters="MT", ink=drawn(), by=owner)
    given = fetch()
    assert len({bare, marked, given}) == 3
    assert AgreementSheet.objects.count() == StoredPaper.objects.count() == 3
    assert "MT, on screen" in papers.text(given)
    assert "Initials of" not in papers.text(given)


def test_initials_seal_the_marks(fetch, put, ticket, owner, watch):
    first = put("stain")
    give_initials(agreement=ticket.agreements.get(), way="paper", letters="MT", by=owner)
    watch.shift(60)
    put("hole afterwards")
    remove_mark(mark=first, by=owner)
    text = papers.text(fetch())
    assert "MT, on paper" in text
    assert "A 1 stain" in text
    assert "hole afterwards" not in text
    Profile.objects.update(paper="A5", name="Another Name")
    assert papers.text(fetch()) == text


@pytest.mark.postgres
def test_an_earlier_version_stays_as_the_client_saw_it(fetch, put, ticket, owner, watch):
    put("stain")
    actions.note_worn(garment=ticket.garments.get(), worn=WornWith(shoes="flats"), by=owner)
    watch.shift(60)
    put("hole afterwards")
    old, new = papers.text(fetch(1)), papers.text(fetch(2))
    assert "Shoes: black pumps" in old
    assert "hole afterwards" not in old
    assert "Shoes: flats" in new
    assert "A 2 hole afterwards" in new
    assert "Version 2, agreed" in new


def test_ink_whose_file_is_gone_stops_no_paper(fetch, ticket, owner):
    version = ticket.agreements.get()
    given = give_initials(agreement=version, way="glass", letters="MT", ink=drawn(), by=owner)
    given.file.storage.delete(given.file.name)
    assert "MT, on screen" in papers.text(fetch())


def test_no_version_no_paper_and_no_initials(owner_client, ticket):
    for name in ("agreement-paper", "agreement-initials", "agreement-claim"):
        assert owner_client.get(reverse(name, args=[ticket.number, 9])).status_code == 404
