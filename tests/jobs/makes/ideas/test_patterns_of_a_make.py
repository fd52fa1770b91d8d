"""Several patterns of a make, what is carried from it into them, and a pattern sewn again."""

from datetime import timedelta
from uuid import uuid4

import pytest

from jobs.makes.ideas import actions
from jobs.makes.models import Make, MakeState
from jobs.makes.patterns.actions import NothingToCarryError, carry_in, take_change_out
from jobs.makes.patterns.queries import uses_of
from studio.shop import clock, history
from tests import factories as f

pytestmark = pytest.mark.usefixtures("studio")


def uses(make: Make) -> list[tuple[str, str, str]]:
    now = Make.objects.get(pk=make.pk)
    return [(use.pattern.name, use.size, use.changes) for use in uses_of(now)]


@pytest.fixture
def two():
    return f.PatternFactory(name="Wrap dress"), f.PatternFactory(name="Puff sleeve")


def test_a_make_is_sewn_from_several_patterns_each_with_size_and_changes(owner, two):
    make, (dress, sleeve) = f.MakeFactory(), two
    actions.use_pattern(make=make, pattern=dress, size="42", by=owner)
    given = actions.use_pattern(make=make, pattern=sleeve, changes="2 cm fuller", by=owner)
    actions.use_pattern(make=make, pattern=dress, changes="Tie shorter", by=owner)
    assert actions.use_pattern(make=make, pattern=dress, size="42", by=owner) is None
    assert uses(make) == [("Wrap dress", "42", "Tie shorter"), ("Puff sleeve", "", "2 cm fuller")]
    history.undo(entry=given, by=owner)
    assert uses(make) == [("Wrap dress", "42", "Tie shorter")]


def test_when_the_first_goes_the_next_takes_its_place(owner, two):
    make = f.MakeFactory(pattern=two[0], size="42", changes="Tie shorter")
    f.FurtherPatternFactory(make=make, pattern=two[1], size="M")
    entry = actions.spare_pattern(make=make, pattern=two[0], by=owner)
    assert uses(make) == [("Puff sleeve", "M", "")]
    assert Make.objects.get().pattern == two[1]
    history.undo(entry=entry, by=owner)
    assert uses(make) == [("Wrap dress", "42", "Tie shorter"), ("Puff sleeve", "M", "")]
    for pattern in two:
        actions.spare_pattern(make=make, pattern=pattern, by=owner)
    assert uses(make) == []


def test_a_change_is_carried_into_the_pattern_and_taken_out_again(owner, two):
    make = f.MakeFactory(pattern=two[0], changes="Sleeves 3 cm longer")
    assert uses_of(make)[0].to_carry
    assert carry_in(pattern=two[0], make=make, by=owner)
    assert carry_in(pattern=two[0], make=make, by=owner) is None
    version = two[0].versions.get()
    assert (version.words, version.make, uses_of(make)[0].to_carry) == (make.changes, make, False)
    actions.use_pattern(make=make, pattern=two[0], changes="Sleeves 4 cm longer", by=owner)
    make.refresh_from_db()
    assert uses_of(make)[0].to_carry
    carry_in(pattern=two[0], make=make, by=owner)
    standing = two[0].versions.filter(taken_out_at=None)
    assert standing.get().words == "Sleeves 4 cm longer"
    assert take_change_out(version=standing.get(), by=owner)
    assert take_change_out(version=version, by=owner) is None
    assert (standing.count(), two[0].versions.count()) == (0, 2)


def test_nothing_that_was_not_changed_is_carried(owner, two):
    make = f.MakeFactory(pattern=two[0], changes=" ")
    for pattern in two:
        with pytest.raises(NothingToCarryError):
            carry_in(pattern=pattern, make=make, by=owner)


def test_a_pattern_is_sewn_again_as_it_was_last(owner, two):
    """Old changes stand in the pattern where they were carried in; the others come along."""
    today = clock.today()
    for days, size in ((2, "40"), (1, "42")):
        day = today - timedelta(days=days)
        facts = {"state": MakeState.FINISHED, "finished_on": day, "kind": "dress"}
        make = f.MakeFactory(pattern=two[0], size=size, changes="Tie shorter", **facts)
    f.FurtherPatternFactory(make=make, pattern=two[1], size="M", changes="Fuller")
    carry_in(pattern=two[0], make=make, by=owner)
    key = uuid4()
    again, entry = actions.sew_again(pattern=two[0], form_key=key, by=owner)
    assert (again.state, again.words, again.kind) == (MakeState.IDEA, make.words, "dress")
    assert uses(again) == [("Wrap dress", "42", ""), ("Puff sleeve", "M", "Fuller")]
    assert actions.sew_again(pattern=two[0], form_key=key, by=owner) == (again, None)
    history.undo(entry=entry, by=owner)
    assert not Make.objects.filter(pk=again.pk).exists()
    alone, _ = actions.sew_again(pattern=two[1], form_key=uuid4(), by=owner)
    assert (str(alone), uses(alone)) == ("Puff sleeve", [("Puff sleeve", "", "")])
