"""What the garments of a ticket call for: cautions, who has read them, and how hot to press."""

from collections.abc import Iterable
from dataclasses import dataclass

from clients.cautions.garments import Caution, cautions_for
from clients.cautions.pressing import Press, press_limit
from jobs.tickets.models import CautionRead, Garment, Ticket
from jobs.tickets.quoting import tax_place
from studio.shop.models import Profile


@dataclass(frozen=True)
class ShownCaution:
    """One caution of a garment; ``read`` says by whom and when, None until somebody has."""

    caution: Caution
    read: CautionRead | None = None


@dataclass(frozen=True)
class GarmentCare:
    """The cautions of one garment, and its pressing limit where fibre or iron are known."""

    cautions: tuple[ShownCaution, ...]
    press: Press | None

    @property
    def safety(self) -> list[ShownCaution]:
        """Those that are asked to be read, and that stand on the work sheet."""
        return [shown for shown in self.cautions if shown.caution.safety]

    @property
    def notes(self) -> list[Caution]:
        return [shown.caution for shown in self.cautions if not shown.caution.safety]


def called_for(garment: Garment, studio: Profile) -> list[Caution]:
    """The cautions of one garment, by its kind and by the work still on it."""
    return cautions_for(
        concern=garment.kind.concern if garment.kind else "",
        works=[line.name for line in garment.lines.all() if line.removed_at is None],
        new=garment.worn == Garment.Worn.NEW,
        taxed_at=tax_place(studio),
    )


def care_of(garments: Iterable[Garment], studio: Profile) -> dict[int, GarmentCare]:
    """By the garment's key. One query, and none where no garment has a caution to be read.

    Garments come with their kind and lines.
    """
    called = {garment: called_for(garment, studio) for garment in garments}
    grave = [
        garment
        for garment, cautions in called.items()
        if any(caution.safety for caution in cautions)
    ]
    reads = CautionRead.objects.filter(garment__in=grave).select_related("by") if grave else []
    by_caution = {(read.garment_id, read.key): read for read in reads}
    return {
        garment.pk: GarmentCare(
            tuple(
                ShownCaution(caution, by_caution.get((garment.pk, caution.key)))
                for caution in cautions
            ),
            press_limit(iron=garment.iron, fibre=garment.fibre),
        )
        for garment, cautions in called.items()
    }


def bench_care(ticket: Ticket, studio: Profile) -> dict[str, GarmentCare]:
    """By the garment's letter, as it is known now: the label may be read after the agreement."""
    garments = list(
        ticket.garments.filter(removed_at=None).select_related("kind").prefetch_related("lines")
    )
    care = care_of(garments, studio)
    return {garment.letter: care[garment.pk] for garment in garments}
