"""The doctor proves the sealed book too, and so does each backup that is read back."""

from jobs.billing.sealed_book import Proof, prove
from studio.backup.databases import check_of_copies
from studio.shop.doctor import Finding, check
from studio.shop.models import Profile


@check
def the_sealed_book(_studio: Profile) -> Finding:
    proof = prove()
    if proof.flaws:
        words = _in_short(proof)
        way = "manage.py prove says all; restore a backup."
        return Finding("The sealed book", False, words, way)
    if not proof.sealed:
        return Finding("The sealed book", True, "Nothing has been invoiced or paid yet.")
    words = f"{proof.sealed} invoices, credit notes and receipts are as they were written."
    return Finding("The sealed book", True, words)


@check_of_copies
def the_book_in_a_copy(using: str) -> list[str]:
    proof = prove(using=using)
    return [f"The sealed book does not hold: {_in_short(proof)}"] if proof.flaws else []


def _in_short(proof: Proof) -> str:
    first, *more = proof.flaws
    return f"{first} {len(proof.flaws)} in all." if more else first
