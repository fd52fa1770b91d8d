"""The papers of one agreement, as the ticket's page asks for them."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from typing import Any

from jobs.tickets.agreements import delta_in, reason_in
from jobs.tickets.cautions import bench_care
from jobs.tickets.documents.layouts import (
    AGREED_ONLY,
    Facts,
    Since,
    agreement,
    claim_ticket,
    large_claim_ticket,
    marked_photographs,
    photographs,
    slip,
    tags,
    ticket_facts,
    with_unmeasured,
    work_sheet,
)
from jobs.tickets.models import Agreement, AgreementSheet, Initials
from jobs.tickets.queries import Marked, marked_photos, unmeasured
from studio.shop import clock, paper
from studio.shop.models import Profile, StoredPaper
from studio.shop.paper import Document, issued_paper
from studio.shop.paper.printers import (
    AT_DROP_OFF,
    ROLL,
    SHEET,
    Printer,
    printers_of,
    roll_of,
    sheet_of,
    size_of,
)
from studio.shop.words import Words, frozen_words, words_for


@dataclass(frozen=True)
class AgreementState:
    """The marks that the client could see with this version, and the initials, if given."""

    marked: tuple[Marked, ...]
    initials: Initials | None

    @classmethod
    def of(cls, agreement: Agreement) -> "AgreementState":
        """Three queries at most."""
        initials = Initials.objects.filter(agreement=agreement).first()
        until = initials.at if initials else superseded_at(agreement)
        return cls(tuple(marked_photos(agreement.ticket, until)), initials)

    @property
    def key(self) -> list[Any]:
        """Plain data, the same for the same state."""
        spots = [[spot.pk for spot in marked.spots] for marked in self.marked]
        return [self.initials.pk if self.initials else None, spots]

    @property
    def ink(self) -> bytes:
        """The PNG of initials that were drawn on the glass; none where its file is gone."""
        if not (self.initials and self.initials.file):
            return b""
        try:
            with self.initials.file.open("rb") as file:
                return bytes(file.read())
        except OSError:
            return b""


def superseded_at(agreement: Agreement) -> datetime | None:
    """When the next version replaced this one; None while it is the latest."""
    later = agreement.ticket.agreements.filter(version=agreement.version + 1).first()
    return later.agreed_at if later else None


@dataclass(frozen=True)
class PrintRun:
    """What one printer prints of a drop-off; ``place`` is the printer's, from 1."""

    place: int
    printer: Printer
    papers: tuple[str, ...]
    tags: int

    @property
    def words(self) -> str:
        """``Claim ticket and 3 tags``."""
        tags = f"{self.tags} tag{'' if self.tags == 1 else 's'}"
        named = {"claim": "claim ticket", "tags": tags}
        return " and ".join(named[key] for key in self.papers).capitalize()


def presses(studio: Profile, garments: int) -> list[PrintRun]:
    """One for each printer in which a paper of a drop-off lies, the claim ticket's first."""
    found = [
        PrintRun(place, printer, papers, garments)
        for place, printer in enumerate(printers_of(studio), start=1)
        if (papers := tuple(key for key in AT_DROP_OFF if key in printer.papers))
    ]
    return sorted(found, key=lambda press: press.papers)


@dataclass(frozen=True)
class TicketPapers:
    """The papers of one agreement: what was agreed from its frozen data, what was paid and booked
    ``since`` as it stands at the time of printing.

    What is ``stored`` is rendered once for each state of that, stored and the same ever after; it
    shows the money. A payment more makes another issue, and each says when it was printed. The
    others are rendered each time, and show the money only with ``figures``. Sizes of paper are
    those of the printers that the ``studio`` has now. Codes lead to ``address``, the ticket's page,
    on the client's part to ``client_address`` if there is one.
    """

    agreement: Agreement
    studio: Profile
    address: str
    figures: bool = True
    since: Since = AGREED_ONLY
    client_address: str = ""

    @property
    def claim_name(self) -> str:
        return f"Claim ticket {self.agreement}"

    @cached_property
    def words(self) -> Words:
        """Those of the client's language today; the studio's own papers stay as agreed."""
        language = self.agreement.ticket.client.language
        return words_for(language, self.studio) if language else self.agreed_words

    @cached_property
    def agreed_words(self) -> Words:
        """What somebody signs, or signed, stays in the language in which it was agreed."""
        return frozen_words(self.agreement.data, self.studio)

    @property
    def claim_title(self) -> str:
        return self.words("Claim ticket {number}", number=str(self.agreement))

    def stored_agreement(self) -> StoredPaper:
        """The agreement, one issue for each state: with these marks, without or with initials."""
        state = AgreementState.of(self.agreement)
        shown = replace(self, figures=True)
        name = f"Agreement {self.agreement}"
        words = self.agreed_words
        return self._issue(["agreement", state.key], name, lambda: shown.sheet(state), words)

    def sheet(self, state: AgreementState) -> bytes:
        """The agreement as it stands in ``state``."""
        document = agreement(
            self._facts(self.agreed_words),
            page=size_of(self.studio, "agreement"),
            shown=marked_photographs(state.marked),
            initials=state.initials,
            ink=state.ink,
        )
        title = self.agreed_words("Agreement {number}", number=str(self.agreement))
        return paper.write([document], title=title)

    def stored_claim(self) -> StoredPaper:
        make = replace(self, figures=True).claim
        return self._issue(["claim"], self.claim_name, make, self.words)

    def presses(self) -> list[PrintRun]:
        """What is printed at drop-off: one file for each printer, of one size."""
        return presses(self.studio, len(self.agreement.data["garments"]))

    def stored_press(self, press: PrintRun) -> StoredPaper:
        shown = replace(self, figures=True)
        if press.papers == ("claim",) and press.printer.kind == SHEET:
            return self.stored_claim()
        name = self.press_name(press)
        what = ["press", *press.papers]
        return self._issue(what, name, lambda: shown.press(press), self.words)

    def _issue(
        self, what: list[Any], name: str, make: Callable[[], bytes], words: Words
    ) -> StoredPaper:
        """The issue of a paper for the state of today, printed now unless it was before."""
        said = [*what, self.since.key, *([words.key] if words.key else [])]
        if self.client_address and what[0] != "agreement":
            said.append(self.client_address)
        state = hashlib.sha256(json.dumps(said).encode()).hexdigest()
        sheet, _ = AgreementSheet.objects.get_or_create(agreement=self.agreement, state=state)
        return issued_paper(sheet, "paper", name, make)

    def claim(self) -> bytes:
        """The claim ticket on the studio's sheet."""
        claim = claim_ticket(self._client_facts(), page=sheet_of(self.studio))
        return paper.write([claim], title=self.claim_title)

    def press_name(self, press: PrintRun) -> str:
        return f"{press.words} {self.agreement}"

    def press(self, press: PrintRun) -> bytes:
        """The papers of one printer, all on its size."""
        size, documents = press.printer.size, []
        if "claim" in press.papers and press.printer.kind == ROLL:
            documents.append(slip(self._client_facts(), page=size))
        elif "claim" in press.papers:
            documents.append(claim_ticket(self._client_facts(), page=size))
        if "tags" in press.papers:
            documents += self._tags()
        return paper.write(documents, title=self.press_name(press))

    def slip(self) -> bytes:
        """The client's part for the roll."""
        slip_of = slip(self._client_facts(), page=roll_of(self.studio))
        return paper.write([slip_of], title=self.claim_title)

    def large_claim(self) -> bytes:
        """The client's part in large print, on the studio's sheet."""
        claim = large_claim_ticket(self._client_facts(), page=sheet_of(self.studio))
        return paper.write([claim], title=self.claim_title)

    def tags(self) -> bytes:
        return paper.write(self._tags(), title=f"Tags {self.agreement}")

    def work_sheet(self) -> bytes:
        ticket = self.agreement.ticket
        shown = marked_photographs(marked_photos(ticket))
        pictures = photographs(ticket, besides=[photograph.marked.photo.pk for photograph in shown])
        care = bench_care(ticket, self.studio)
        page = size_of(self.studio, "work")
        document = work_sheet(
            self._bench_facts(), page=page, pictures=pictures, care=care, shown=shown
        )
        return paper.write([document], title=f"Work sheet {self.agreement}")

    def _tags(self) -> list[Document]:
        shown = {
            letter: first for letter, (first, *_) in photographs(self.agreement.ticket).items()
        }
        return tags(
            self._bench_facts(),
            page=size_of(self.studio, "tags"),
            pictures=shown,
            named=self.studio.tag_surname,
        )

    def _bench_facts(self) -> Facts:
        """With a line to write on where an amount is missing still."""
        missing = unmeasured().filter(garment__ticket=self.agreement.ticket)
        return with_unmeasured(self._facts(), set(missing.values_list("pk", flat=True)))

    def _client_facts(self) -> Facts:
        return {**self._facts(self.words), "client_address": self.client_address}

    def _facts(self, words: Words | None = None) -> Facts:
        """Without figures neither prices nor the words that may speak of them."""
        agreement, figures = self.agreement, self.figures
        return {
            **ticket_facts(
                agreement.data,
                address=self.address,
                figures=figures,
                since=self.since,
                words=words,
            ),
            "printed_at": clock.now(),
            "agreed_at": agreement.agreed_at,
            "replaces": agreement.version - 1,
            "delta": delta_in(words, agreement) if figures else "",
            "reason": reason_in(words, agreement.reason) if figures else "",
        }
