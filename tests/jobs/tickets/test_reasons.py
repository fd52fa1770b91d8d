"""The reason of a version, as the program wrote it, in the language of the client's papers."""

from jobs.planning.models import Wait
from jobs.planning.too_much import REASON
from jobs.tickets.agreements import REASONS, WAITED_FOR, latest_agreement, reason_in
from jobs.tickets.documents import TicketPapers
from studio.shop.words import Words
from tests.drafts import hem, received, trousers
from tests.factories import ClientFactory
from tests.jobs.tickets.fit_pages import ASKED, address

GERMAN = Words("de", "de_DE", "de")


def test_what_the_sums_write_is_said_in_other_words():
    """Their sentences are those that the pages show; figures as the locale writes them."""
    for kind in ("alter", "hem", "circle", "legs", "waist"):
        written = ASKED[kind][1].rstrip(".")
        assert reason_in(GERMAN, written) != written, kind
        assert reason_in(Words(), written) == written
    said = {
        "Finish at 78.5 cm, cut at 82 cm": "fertig 78,5 cm, zugeschnitten bei 82 cm",
        "Finish at 78 cm, cut at 82 cm. All 4 cm that is there is turned up":
            "fertig 78 cm, zugeschnitten bei 82 cm. Alle 4 cm, die da sind, werden umgeschlagen",
        "At the hem 1 cm comes off at the inner seam, 2 cm at the outer":
            "am Saum gehen innen 1 cm weg, außen 2 cm",
        "Leg opening as one that fits": "wie bei einem Stück, das passt",
        "waited 1 day for the event shoes": "1 Tag gewartet auf die Schuhe zum Anlass",
        "waited 12 days for washing": "12 Tage gewartet auf die Wäsche",
        "Undone": "rückgängig gemacht", REASON: "die Tage davor waren zu voll",
        "Tax as usual": "Steuer wie üblich",
        "Reverse charge": "Steuerschuldnerschaft des Leistungsempfängers",
    }  # fmt: skip
    assert {reason: reason_in(GERMAN, reason) for reason in said} == said
    assert {label.lower() for label in Wait.What.labels} == set(WAITED_FOR)
    assert REASON in REASONS


def test_what_somebody_typed_stays():
    for typed in ("", "Finish at home, please", "she finished at 5, cut at 6", "Undone buttons"):
        assert reason_in(GERMAN, typed) == typed


def test_a_hem_that_was_calculated_is_german_in_a_german_agreement(owner_client, studio, owner):
    ticket = received(studio, owner, trousers(hem()), client=ClientFactory(language="de"))
    line = ticket.garments.get().lines.get()
    asked = {"garment": "trousers", "now": "82.5", "by": "4", "line": str(line.pk)}
    owner_client.post(address(line.garment, "hem"), asked)
    ticket.refresh_from_db()
    agreed = latest_agreement(ticket)
    assert agreed.reason.startswith("Finish at 78.5 cm, cut at ")
    for paper in (
        TicketPapers(agreed, studio, "a").stored_agreement().file.read(),
        TicketPapers(agreed, studio, "a").claim(),
    ):
        shown = paper.decode().replace("\N{NO-BREAK SPACE}", " ")
        assert "Finish at" not in shown
        assert "fertig 78,5 cm, zugeschnitten bei " in shown
