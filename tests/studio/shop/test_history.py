"""What is recorded of a step, and what undo puts back.

The rooms' own verbs are walked by ``tests/test_history.py``.
"""

from datetime import date, time, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.makes.models import Make, Picture
from jobs.tickets.models import Garment, Line, Ticket
from studio.shop import clock, history
from studio.shop.history import recording, verbs, way_back
from studio.shop.models import DayOff, Entry, TaxClass, TaxRate, User
from tests import factories

LOCALE = "en_IE"


@pytest.fixture
def verb():
    """A verb for the time of a test."""
    made = []

    def declare(key="test.change", sentence="Changed: {what}.", **facts):
        made.append(key)
        return history.Verb(key, sentence, **facts)

    yield declare
    for key in made:
        verbs._verbs.pop(key, None)


@pytest.fixture
def say():
    """Functions that have a say before an undo for the time of a test."""
    before, after = list(way_back._before), list(way_back._after)
    yield way_back
    way_back._before[:], way_back._after[:] = before, after


@pytest.fixture
def day(db):
    return DayOff.objects.create(day=date(2026, 12, 24), reason="Christmas Eve")


def change(verb, day, by, **facts):
    with history.record(verb, about=day, by=by, what="day off") as step:
        step.keep(day)
        DayOff.objects.filter(pk=day.pk).update(**facts)
    return step.entry


def test_only_what_changed_is_written_down(verb, day, owner):
    entry = change(verb(), day, owner, reason="closed")
    assert entry.changes == [
        {
            "row": ["shop.dayoff", day.pk],
            "was": {"reason": "Christmas Eve"},
            "now": {"reason": "closed"},
        }
    ]
    assert (entry.by, entry.verb, entry.parameters) == (owner, "test.change", {"what": "day off"})


def test_nothing_changed_makes_no_entry(verb, day, owner):
    assert change(verb(), day, owner, reason="Christmas Eve") is None
    assert not Entry.objects.exists()


def test_what_fails_is_not_recorded(verb, day, owner):
    def fail():
        with history.record(verb(), about=day, by=owner) as step:
            step.keep(day)
            DayOff.objects.all().delete()
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    assert DayOff.objects.exists()
    assert not Entry.objects.exists()


@pytest.mark.postgres
def test_the_program_itself_may_do_something(verb, day):
    entry = history.note(verb(undo=False), about=day, by=None, what="by itself")
    assert history.of(day).get() == entry
    assert entry.by is None


def test_undo_puts_back_those_fields_and_no_others(verb, day, owner):
    entry = change(verb(), day, owner, reason="closed")
    DayOff.objects.update(day=date(2026, 12, 31))
    history.undo(entry=entry, by=owner)
    day.refresh_from_db()
    assert (day.day, day.reason) == (date(2026, 12, 31), "Christmas Eve")


def test_undo_is_refused_where_the_field_has_changed_since(verb, day, owner):
    entry = change(verb(), day, owner, reason="closed")
    DayOff.objects.update(reason="open after all")
    with pytest.raises(history.HistoryError, match="reason of this day off was changed since"):
        history.undo(entry=entry, by=owner)
    assert DayOff.objects.get().reason == "open after all"
    assert Entry.objects.get().undone_at is None


def test_twice_is_once(verb, day, owner):
    entry = change(verb(), day, owner, reason="closed")
    first = history.undo(entry=entry, by=owner)
    DayOff.objects.update(reason="something else")
    assert history.undo(entry=entry, by=owner) == first
    assert DayOff.objects.get().reason == "something else"
    assert first.undoes == entry
    assert history.sentence(first, LOCALE) == "Undone: Changed: day off."
    entry.refresh_from_db()
    assert entry.undone_by == owner


def test_an_undoing_is_not_undone(verb, day, owner):
    undone = history.undo(entry=change(verb(), day, owner, reason="closed"), by=owner)
    with pytest.raises(history.HistoryError, match="cannot be undone"):
        history.undo(entry=undone, by=owner)


def test_a_vanished_row_refuses(verb, day, owner):
    entry = change(verb(), day, owner, reason="closed")
    DayOff.objects.all().delete()
    with pytest.raises(history.HistoryError, match="not there any more"):
        history.undo(entry=entry, by=owner)


@pytest.mark.parametrize("where", ["was", "now"])
def test_a_field_that_the_program_has_no_longer_refuses(verb, day, owner, where):
    """A removed column made Undo answer 500."""
    entry = change(verb(), day, owner, reason="closed")
    entry.changes[0][where]["ribbon"] = "red"
    entry.save()
    with pytest.raises(history.HistoryError, match="program has changed since"):
        history.undo(entry=entry, by=owner)
    assert history.sentence(entry, LOCALE) == "Changed: day off."


def test_a_table_that_the_program_has_no_longer_refuses(verb, day, owner):
    entry = change(verb(), day, owner, reason="closed")
    entry.changes[0]["row"][0] = "shop.ribbon"
    entry.save()
    with pytest.raises(history.HistoryError, match="program has changed since"):
        history.undo(entry=entry, by=owner)


def test_a_verb_that_the_program_has_no_longer_is_named(day, owner):
    entry = Entry.objects.create(at=clock.now(), by=owner, verb="room.gone", changes=[{}])
    assert history.sentence(entry, LOCALE) == "room.gone"
    with pytest.raises(history.HistoryError):
        history.undo(entry=entry, by=owner)


def test_a_row_that_came_goes_again(verb, db, owner):
    with history.record(verb(), about=owner, by=owner) as step:
        standard = TaxClass.objects.create(name="standard")
        step.add(standard, TaxRate.objects.create(tax_class=standard, percent=Decimal(21)))
    history.undo(entry=step.entry, by=owner)
    assert not TaxClass.objects.exists()
    assert not TaxRate.objects.exists()


def test_a_row_that_came_stays_where_something_leans_on_it(verb, db, owner):
    with history.record(verb(), about=owner, by=owner) as step:
        standard = TaxClass.objects.create(name="standard")
        step.add(standard)
    rate = TaxRate.objects.create(tax_class=standard, percent=Decimal(21))
    with pytest.raises(history.HistoryError, match="stands on this"):
        history.undo(entry=step.entry, by=owner)
    assert TaxRate.objects.get() == rate


def test_a_row_that_came_stays_where_it_was_changed_since(verb, db, owner):
    with history.record(verb(), about=owner, by=owner) as step:
        step.add(TaxClass.objects.create(name="standard"))
    TaxClass.objects.update(exempt=True)
    with pytest.raises(history.HistoryError, match="exempt"):
        history.undo(entry=step.entry, by=owner)


@pytest.mark.postgres
def test_a_row_that_went_comes_back_with_its_key_and_children(verb, db, owner):
    standard = TaxClass.objects.create(name="standard")
    rate = TaxRate.objects.create(tax_class=standard, percent=Decimal("13.125"))
    with history.record(verb(), about=owner, by=owner) as step:
        step.keep(standard, TaxRate.objects.filter(tax_class=standard))
        standard.delete()
    history.undo(entry=step.entry, by=owner)
    back = TaxRate.objects.get()
    assert (back.pk, back.percent, back.valid_from) == (rate.pk, rate.percent, rate.valid_from)
    assert back.tax_class.name == "standard"


def test_a_row_does_not_come_back_where_its_place_is_taken(verb, day, owner):
    with history.record(verb(), about=owner, by=owner) as step:
        step.keep(day)
        DayOff.objects.all().delete()
    DayOff.objects.create(day=day.day, reason="another")
    with pytest.raises(history.HistoryError, match="stands on this"):
        history.undo(entry=step.entry, by=owner)
    assert DayOff.objects.get().reason == "another"


def test_nothing_is_put_back_that_names_a_vanished_row(verb, studio, owner):
    old, new = TaxClass.objects.create(name="old"), TaxClass.objects.create(name="new")
    studio.worn_tax = old
    studio.save()
    with history.record(verb(), about=studio, by=owner) as step:
        step.keep(studio)
        studio.worn_tax = new
        studio.save()
    old.delete()
    with pytest.raises(history.HistoryError, match="not there any more"):
        history.undo(entry=step.entry, by=owner)


def test_rows_that_a_queryset_gains_and_loses_are_noticed(verb, db, owner):
    standard = TaxClass.objects.create(name="standard")
    first = TaxRate.objects.create(tax_class=standard, percent=Decimal(21))
    with history.record(verb(), about=owner, by=owner) as step:
        step.keep(TaxRate.objects.filter(tax_class=standard))
        first.delete()
        TaxRate.objects.create(tax_class=standard, percent=9, valid_from=date(2026, 1, 1))
    assert sorted([c["was"] is None, c["now"] is None] for c in step.entry.changes) == [
        [False, True],
        [True, False],
    ]
    history.undo(entry=step.entry, by=owner)
    assert TaxRate.objects.get().percent == Decimal(21)


def test_a_removed_row_keeps_its_place_where_its_model_says_so(verb, studio, owner):
    garment = factories.GarmentFactory()
    with history.record(verb(), about=garment.ticket, by=owner) as step:
        line = factories.LineFactory(garment=garment)
        step.add(line)
    history.undo(entry=step.entry, by=owner)
    line.refresh_from_db()
    assert line.removed_at


def test_values_come_back_exactly(verb, studio, owner):
    """Decimals, moments to the microsecond, JSON, days, text and the keys of other rows."""
    moment = clock.now().replace(microsecond=123457)
    ticket = factories.TicketFactory(
        promise_at=moment, wanted_by=date(2028, 2, 29), rush_percent=Decimal("12.345"),
        terms={"a": [1, {"b": None}], "ü": "“"}, note="Zwei\nZeilen “so” 🧵", gross=-(2**53) - 1,
    )  # fmt: skip
    garment = factories.GarmentFactory(ticket=ticket, heel_mm=Decimal("82.5500"), tried_on=True)
    before = recording.read([recording.key_of(ticket), recording.key_of(garment)])
    old = Ticket.objects.get()
    client = factories.ClientFactory()
    with history.record(verb(), about=owner, by=owner) as step:
        step.keep(ticket, garment)
        Ticket.objects.update(
            promise_at=moment + timedelta(days=1), wanted_by=None, rush_percent=0, terms={},
            note="", client=client,
        )  # fmt: skip
        Garment.objects.update(heel_mm=None, tried_on=False)
    entry = Entry.objects.get(pk=step.entry.pk)
    history.undo(entry=entry, by=owner)
    assert recording.read([recording.key_of(ticket), recording.key_of(garment)]) == before
    back = Ticket.objects.get()
    for name in ("promise_at", "wanted_by", "rush_percent", "terms", "note", "client", "gross"):
        assert getattr(back, name) == getattr(old, name)
    assert back.promise_at.microsecond == 123457


def test_many_to_many_come_back(verb, db, owner):
    make = factories.MakeFactory()
    kept, other = factories.PictureFactory(), factories.PictureFactory()
    make.pictures.set([kept])
    with history.record(verb(), about=make, by=owner) as step:
        step.keep(make)
        make.pictures.set([other])
    history.undo(entry=step.entry, by=owner)
    assert make.pictures.get() == kept


def test_many_to_many_go_with_the_row_they_came_with(verb, db, owner):
    picture = factories.PictureFactory()
    with history.record(verb(), about=owner, by=owner) as step:
        make = factories.MakeFactory()
        make.pictures.set([picture])
        step.add(make)
    history.undo(entry=step.entry, by=owner)
    assert not Make.objects.exists()
    assert Picture.objects.get() == picture


def test_a_picture_in_use_elsewhere_does_not_go(verb, db, owner):
    with history.record(verb(), about=owner, by=owner) as step:
        step.add(picture := factories.PictureFactory())
    make = factories.MakeFactory()
    make.pictures.set([picture])
    with pytest.raises(history.HistoryError, match="stands on this"):
        history.undo(entry=step.entry, by=owner)
    assert make.pictures.get() == picture


def test_a_value_with_fewer_places_of_an_older_version_is_the_same(verb, studio, owner):
    garment = factories.GarmentFactory(heel_mm=Decimal(80))
    with history.record(verb(), about=garment.ticket, by=owner) as step:
        step.keep(garment)
        Garment.objects.update(heel_mm=Decimal(65))
    step.entry.changes[0]["now"]["heel_mm"] = "65.0"
    step.entry.save()
    history.undo(entry=step.entry, by=owner)
    garment.refresh_from_db()
    assert garment.heel_mm == 80


def test_rooms_have_a_say(verb, day, owner, say):
    @say.before_undo
    def refuse(undo):
        if undo.touches(DayOff, "reason") and undo.about(DayOff) == [day.pk]:
            raise history.HistoryError("It stays closed.")

    entry = change(verb(), day, owner, reason="closed")
    with pytest.raises(history.HistoryError, match="It stays closed"):
        history.undo(entry=entry, by=owner)
    assert DayOff.objects.get().reason == "closed"


@pytest.mark.postgres
def test_of_many_steps_only_those_that_are_refused_stay(verb, db, owner, say):
    """Thirty days that came, then half of them changed: statements are counted, reasons kept."""
    came, changed, days = verb("test.came"), verb("test.changed"), date(2026, 12, 1)
    rows = [DayOff.objects.create(day=days + timedelta(n), reason="x") for n in range(30)]
    entries = history.record_made(came, [[row] for row in rows], by=owner)
    entries += [change(changed, row, owner, reason="closed") for row in rows[::2]]
    DayOff.objects.filter(pk=rows[4].pk).update(reason="painters")

    @say.before_undo
    def _(undo):
        if rows[7].pk in {change.pk for change in undo.of(DayOff)}:
            raise history.HistoryError("No.")

    refused = history.undo_all(entries=entries[::-1], by=owner)
    reasons = {entries.index(Entry.objects.get(pk=pk)): why[:22] for pk, why in refused.items()}
    assert reasons == {32: "The reason of this day", 7: "No.", 4: "The reason of this day"}
    assert set(DayOff.objects.values_list("pk", "reason")) == {
        (rows[4].pk, "painters"),
        (rows[7].pk, "x"),
    }
    told = Entry.objects.filter(undoes__in=entries).select_related("undoes")
    assert len(told) == 42
    for entry in told:
        assert [(one["was"], one["now"]) for one in entry.changes] == [
            (one["now"], one["was"]) for one in entry.undoes.changes
        ]
        assert [subject.row for subject in entry.subjects.all()] == [
            subject.row for subject in entry.undoes.subjects.all()
        ]
    assert history.undo_all(entries=entries[::-1], by=owner) == refused
    assert told.count() == 42


@pytest.mark.parametrize("count", [1, 3])
def test_many_steps_are_undone_in_as_many_queries_as_one(
    verb, db, owner, count, django_assert_num_queries
):
    rows = [DayOff.objects.create(day=date(2026, 12, n + 1), reason="x") for n in range(count)]
    entries = history.record_made(verb(), [[row] for row in rows], by=owner)
    with django_assert_num_queries(15):
        assert history.undo_all(entries=entries, by=owner) == {}
    assert not DayOff.objects.exists()


def test_what_follows_from_an_undo_is_recorded_with_it(verb, day, owner, say):
    other = DayOff.objects.create(day=date(2026, 12, 25))

    @say.after_undo
    def follow(undo, step):
        step.keep(other)
        DayOff.objects.filter(pk=other.pk).update(reason="follows")

    undone = history.undo(entry=change(verb(), day, owner, reason="closed"), by=owner)
    assert [c["row"][1] for c in undone.changes] == [day.pk, other.pk]


def test_helpers_do_not_undo_what_speaks_of_money(verb, day, owner, helper):
    entry = change(verb(money=True), day, owner, reason="closed")
    assert history.undoable([entry], helper) is None
    assert history.undoable([entry], owner) == entry
    with pytest.raises(history.HistoryError):
        history.undo(entry=entry, by=helper)
    assert history.undo(entry=entry, by=owner).money


def test_the_latest_that_can_be_undone(verb, day, owner):
    first = change(verb("test.one"), day, owner, reason="one")
    second = change(verb("test.two"), day, owner, reason="two")
    history.note(verb("test.three", undo=False), about=day, by=owner)
    assert history.undoable(history.of(day)) == second
    history.undo(entry=second, by=owner)
    assert history.undoable(history.of(day)) == first


def test_an_entry_is_read_on_every_page_it_is_about(verb, db, owner):
    kept, gone = factories.ClientFactory(), factories.ClientFactory()
    ticket = factories.TicketFactory(client=gone)
    first = history.note(verb("test.one"), about=[ticket, gone], by=owner, what="one")
    second = history.note(verb("test.two"), about=kept, by=None, what="two")
    assert list(history.of(ticket)) == [first]
    assert list(history.of(kept, gone)) == [second, first]
    assert list(history.of()) == []


@pytest.mark.parametrize("count", [1, 30])
def test_a_history_is_read_in_one_query(verb, day, owner, count, django_assert_num_queries):
    stayed, back = verb("test.one"), verb("test.two")
    for number in range(count):
        history.undo(entry=change(back, day, owner, reason=f"{number}"), by=owner)
        history.note(stayed, about=day, by=owner, what=number)
    with django_assert_num_queries(1):
        entries = list(history.of(day))
        sentences = [(history.sentence(entry, LOCALE), entry.by.shown_name) for entry in entries]
        history.undoable(entries)
    assert len(sentences) == 3 * count


def test_a_step_costs_few_queries(verb, studio, owner):
    """Two readings of each table, two rows of the entry, a savepoint: however many rows."""
    garment = factories.GarmentFactory()
    lines = [factories.LineFactory(garment=garment) for _ in range(30)]
    declared, ticket = verb(), garment.ticket
    with (
        CaptureQueriesContext(connection) as queries,
        history.record(declared, about=ticket, by=owner) as step,
    ):
        step.keep(ticket, *lines)
        Line.objects.update(note="changed")
    assert len(step.entry.changes) == 30
    assert len(queries) == 1 + 2 * 2 + 2 + 2


def test_sentences_are_made_for_the_reader(verb, studio, owner):
    moment = clock.at(date(2026, 11, 28), time(16, 30))
    sentence = "{what:lower} {letters:list}, {day:day}, {at:when}, {at:clock}, {long:minutes}"
    entry = history.note(
        verb(sentence=sentence), about=owner, by=owner, what="Fitting", letters=["A", "B"],
        day=date(2026, 11, 27), at=moment, long=95,
    )  # fmt: skip
    entry.refresh_from_db()
    assert history.sentence(entry, "en_IE") == (
        "fitting A, B, Fri 27 Nov 2026, Sat 28 Nov 16:30, 16:30, 1 h 35"
    )
    assert history.sentence(entry, "en_US").startswith(
        "fitting A, B, Fri, Nov 27, 2026, Sat, Nov 28"
    )


def test_parameters_that_an_older_entry_lacks_are_dots(verb, day, owner):
    entry = history.note(verb(sentence="{what} at {at:when}: {why}."), about=day, by=owner)
    assert history.sentence(entry, LOCALE) == "… at …: …."
    entry = history.note(
        verb("test.other", lambda facts, locale: f"{facts['a']} {facts['b'] + 1}"),
        about=day,
        by=owner,
    )
    assert history.sentence(entry, LOCALE) == "test.other …"


def test_erasing_forgets_all_but_what_stays(verb, day, owner):
    entry = change(verb(sentence="{letter}: {what}.", stays=("letter",)), day, owner, reason="x")
    entry.parameters["letter"] = "A"
    entry.save()
    unknown = Entry.objects.create(at=clock.now(), verb="room.gone", parameters={"name": "x"})
    unknown.subjects.create(label="shop.dayoff", row=day.pk)
    assert history.redact(day) == 2
    entry.refresh_from_db()
    unknown.refresh_from_db()
    assert (entry.parameters, entry.changes) == ({"letter": "A"}, [])
    assert unknown.parameters == {}
    assert history.sentence(entry, LOCALE) == "A: …."
    with pytest.raises(history.HistoryError):
        history.undo(entry=entry, by=owner)


def test_a_key_is_given_once(verb):
    verb("test.twice")
    with pytest.raises(ValueError, match=r"test\.twice"):
        history.Verb("test.twice", "Again.")


def test_who_left_the_studio_stays_named(verb, day, owner):
    """Logins are stopped, not deleted, so that the history can name them."""
    change(verb(), day, owner, reason="closed")
    owner.is_active = False
    owner.save()
    assert history.of(day).get().by == User.objects.get(username="owner")
