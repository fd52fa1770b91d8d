"""Each fact of a garment, from the drop-off page to the papers, and until the client is erased."""

import pytest

from jobs.counter.privacy.actions import redact_agreement
from jobs.tickets.agreements import latest_agreement
from jobs.tickets.facts import ASKED, COLUMNS, FACTS, PRINTED, columns, forgotten, on_page, on_paper
from jobs.tickets.models import Garment
from tests import factories
from tests.jobs.counter.html_form import Counter

WITH_RULES = {"condition", "worn"}
"""Chips beside the words, and the tax that it carries: tested where they are read."""


def some(fact) -> str:
    """An answer to it that is not the usual one."""
    return fact.choices[-1][0] if fact.choices else f"{fact.name} of it"


@pytest.fixture
def counter(owner_client):
    hem = factories.OperationFactory()
    mary = factories.ClientFactory(name="Mary Larkin")
    page = Counter(owner_client, f"/drop-off/?client={mary.pk}")
    return page.put(hem)


def test_every_column_of_a_garment_is_a_fact_or_known_to_be_none():
    declared = [name for fact in FACTS for name in fact.columns]
    assert len(declared) == len(set(declared))
    assert COLUMNS.keys() - declared == {
        "id", "ticket", "letter", "kind", "kind_name", "removed_at", "tried_on", "handed_over_at",
        "cloth_ends", "measures",
    }  # fmt: skip


def test_what_is_asked_is_kept_shown_and_asked_again(counter, owner_client):
    answers = {fact.name: some(fact) for fact in ASKED if fact.name not in WITH_RULES}
    counter.type(**{f"g0_{name}": answer for name, answer in answers.items()}).press("save")

    garment = Garment.objects.get()
    assert {name: getattr(garment, name) for name in answers} == answers
    change = Counter(owner_client, f"/t/{garment.ticket.number}/change/")
    assert {name: change.form.fields[f"g0-{name}"] for name in answers} == {
        name: [answer] for name, answer in answers.items()
    }
    page = owner_client.get(garment.ticket.get_absolute_url()).content.decode()
    agreed = latest_agreement(garment.ticket).data["garments"][0]
    words = [fact for fact in ASKED if fact.name in answers]
    for fact in words:
        assert not fact.label or f"<dt>{fact.label}</dt><dd>{fact.of(garment)}</dd>" in page
        assert not fact.printed or agreed[fact.key or fact.name] == fact.of(garment)
        sentence = fact.words.format(value=fact.of(garment))
        assert not fact.words or sentence in on_paper(agreed)
    assert {label for label, _ in on_page(garment)} >= {fact.label for fact in words if fact.label}


def test_what_is_private_is_in_no_agreement(counter):
    counter.type(g0_fibre="80 % wool", g0_iron="2").press("save")
    agreed = latest_agreement(Garment.objects.get().ticket).data["garments"][0]
    private = {fact.name for fact in FACTS if not fact.printed}
    assert {"fibre", "iron"} <= private
    assert not private & agreed.keys()
    assert "80 % wool" not in str(agreed)


def test_what_is_personal_is_forgotten_in_the_row_and_in_the_agreement(counter):
    answers = {fact.name: some(fact) for fact in ASKED if fact.name not in WITH_RULES}
    counter.type(**{f"g0_{name}": answer for name, answer in answers.items()}).press("save")
    agreed = latest_agreement(Garment.objects.get().ticket).data

    left = redact_agreement(agreed)["garments"][0]

    for key, fact in PRINTED.items():
        assert left[key] == ("" if fact.personal else agreed["garments"][0][key])
    blank = Garment(ticket=None)
    assert forgotten() == {name: getattr(blank, name) for name in columns(personal=True)}
    assert {"description", "condition", "things_left", "heel_typed", "fibre"} <= forgotten().keys()
