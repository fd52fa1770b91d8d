"""What stands in the fields, and how they are read back, without a request or a database."""

from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import uuid4

import pytest
from django.http import QueryDict
from hypothesis import given
from hypothesis import strategies as st

from jobs.counter.dropoff.desk import MOST_GARMENTS, MOST_LINES, DropOffDesk, press, split_typed
from jobs.counter.dropoff.forms import (
    MARKS,
    GarmentForm,
    GarmentRows,
    put_together,
    take_apart,
)
from jobs.pricing.models import GarmentKind, Operation
from studio.shop.models import Profile

HEM = Operation(
    pk=7, name="Hem", price=2400, takes_amount=True, usual_basis="total", usual_measure="take_off"
)
ZIP = Operation(pk=8, name="Zip", price=1800)


def desk(*, sets_prices: bool = True) -> DropOffDesk:
    """Trousers to be hemmed, or to get a zip; neither tax nor surcharges."""
    return DropOffDesk(
        studio=Profile(currency="EUR"),
        sets_prices=sets_prices,
        standing=None,
        form_key=uuid4(),
        now=datetime(2026, 11, 27, 10, tzinfo=UTC),
        today=date(2026, 11, 27),
        kinds={"1": GarmentKind(pk=1, name="Trousers")},
        operations={"7": HEM, "8": ZIP},
        surcharges={},
        terms={},
        rush_percent=Decimal(25),
        taxes={"worn": None, "new": None},
        tax_trouble="",
        taxed_at=None,
        photos={},
        pad=[],
    )


def pressed(*presses: str, sets_prices: bool = True, data: QueryDict | None = None):
    """What is typed after these buttons, and where the cursor goes after the last."""
    data, focus = QueryDict(mutable=True) if data is None else data, ""
    for intent in presses:
        focus = press(data, intent, desk(sets_prices=sets_prices))
    return data, focus


def rows(data: QueryDict) -> list[GarmentForm]:
    return list(GarmentRows(data, prefix="g", form_kwargs={"desk": desk()}))


def posted(fields: dict[str, list[str]]) -> QueryDict:
    data = QueryDict(mutable=True)
    for name, values in fields.items():
        data.setlist(name, values)
    return data


def test_a_garment_offers_its_work_next():
    data, focus = pressed("add-garment:1")

    assert data.dict() == {"g0-kind": "1", "g0-worn": "worn"}
    assert focus == "g0-first"


def test_work_that_asks_how_far_takes_the_usual_words_and_the_cursor():
    data, focus = pressed("add-garment:1", "add-line:0:7")

    assert {name: value for name, value in data.items() if "-l0-" in name} == {
        "g0-l0-operation": "7", "g0-l0-quantity": "1", "g0-l0-basis": "total",
        "g0-l0-measure": "take_off",
    }  # fmt: skip
    assert focus == "id_g0-l0-amount"


def test_other_work_leads_to_more_work():
    assert pressed("add-garment:1", "add-line:0:8")[1] == "g0-more"


def test_by_hand_is_the_owners():
    assert pressed("add-garment:other")[1] == "id_g0-kind_name"
    assert pressed("add-garment:other", "add-line:0:other")[1] == "id_g0-l0-name"
    assert not pressed("add-garment:other", sets_prices=False)[0]
    data, _ = pressed("add-garment:1", "add-line:0:other", sets_prices=False)
    assert len(rows(data)[0].lines) == 0


def test_the_count_goes_from_one_to_the_most_and_forgives_words():
    line = "add-garment:1", "add-line:0:8"
    assert pressed(*line, "more:0:0", "more:0:0", "fewer:0:0")[0]["g0-l0-quantity"] == "2"
    assert pressed(*line, "fewer:0:0")[0]["g0-l0-quantity"] == "1"
    assert pressed(*line, *["more:0:0"] * 120)[0]["g0-l0-quantity"] == "99"

    data, _ = pressed(*line)
    data["g0-l0-quantity"] = "many"
    assert pressed("more:0:0", data=data)[0]["g0-l0-quantity"] == "2"


def test_taken_off_and_put_back():
    data, _ = pressed("add-garment:1", "add-line:0:7", "remove-line:0:0", "remove-garment:0")
    (garment,) = rows(data)
    assert garment.is_gone
    assert garment.lines[0].is_gone

    pressed("put-back-garment:0", "put-back-line:0:0", data=data)
    (garment,) = rows(data)
    assert not garment.is_gone
    assert [line.draft.name for line in garment.lines_here] == ["Hem"]


def test_there_is_an_end_to_garments_and_lines():
    assert len(rows(pressed(*["add-garment:1"] * 50)[0])) == MOST_GARMENTS
    data, _ = pressed("add-garment:1", *["add-line:0:8"] * 30)
    assert len(rows(data)[0].lines) == MOST_LINES


FIELDS = st.dictionaries(
    st.sampled_from(["colour", "amount", "kind", "marks"]),
    st.lists(st.text(max_size=8), min_size=1, max_size=3),
    min_size=1,
)
GARMENTS = st.lists(st.tuples(FIELDS, st.lists(FIELDS, max_size=3)), max_size=4)


@given(GARMENTS)
def test_what_is_posted_is_what_the_forms_hold(garments):
    data = posted({"event": ["wedding"]})
    for i, (typed, lines) in enumerate(garments):
        for name, values in typed.items():
            data.setlist(f"g{i}-{name}", values)
        for j, line in enumerate(lines):
            for name, values in line.items():
                data.setlist(f"g{i}-l{j}-{name}", values)

    def held(form) -> dict[str, list[str]]:
        own = f"{form.prefix}-"
        names = {name.removeprefix(own): name for name in data if name.startswith(own)}
        return {bare: form.data.getlist(name) for bare, name in names.items() if "-" not in bare}

    assert [(held(form), [held(line) for line in form.lines]) for form in rows(data)] == garments


def test_a_gap_in_the_count_loses_nothing():
    data = posted({"g7-colour": ["red"], "g2-colour": ["blue"], "g7-l4-note": ["left leg"]})

    blue, red = rows(data)
    assert (blue.draft.noted["colour"], red.draft.noted["colour"]) == ("blue", "red")
    assert [line.note for line in red.draft.lines] == ["left leg"]

    pressed("add-garment:1", data=data)
    assert [form.prefix for form in rows(data)] == ["g2", "g7", "g8"]


def test_names_of_no_garment_make_none():
    assert (
        rows(posted({"g0": ["x"], "gx-colour": ["x"], "g1234-colour": ["x"], "note": ["x"]})) == []
    )


def test_more_than_anybody_brings_is_left_out():
    forms = rows(posted({f"g{i}-l{j}-note": ["x"] for i in range(60) for j in range(30)}))

    assert len(forms) == MOST_GARMENTS
    assert {len(form.lines) for form in forms} == {MOST_LINES}


@pytest.mark.parametrize("nonsense", ["", "-1", "1", "x", "0-l0", "²", "9" * 5000])
def test_a_place_that_is_no_number_is_nobodys(nonsense):
    data, _ = pressed("add-garment:1", "add-line:0:7")
    before = data.copy()
    for verb in ("add-line", "remove-garment", "remove-photo"):
        assert pressed(f"{verb}:{nonsense}", f"{verb}:{nonsense}:7", data=data)[1] == ""
    for verb in ("remove-line", "put-back-line", "more", "fewer"):
        assert pressed(f"{verb}:0:{nonsense}", f"{verb}:{nonsense}:0", data=data)[1] == ""

    assert data == before


def test_chips_and_words_make_one_text():
    assert put_together(["mark", "hole"], "left pocket") == "mark; hole; left pocket"
    assert put_together([], "") == ""


@given(st.lists(st.sampled_from(MARKS), unique=True), st.sampled_from(["", "left pocket", "a; b"]))
def test_the_text_comes_apart_again(marks, words):
    assert take_apart(put_together(marks, words)) == (marks, words)


def test_words_that_only_begin_like_a_chip_stay_words():
    assert take_apart("mark on the left; hole") == ([], "mark on the left; hole")


@pytest.mark.parametrize(
    ("typed", "name", "phone"),
    [
        ("Mary Larkin 086 555 0143", "Mary Larkin", "086 555 0143"),
        ("086 555 0143 Mary Larkin", "Mary Larkin", "086 555 0143"),
        ("Mary Larkin, +353 (0)86 555-0143", "Mary Larkin", "+353 (0)86 555-0143"),
        ("0865550143", "", "0865550143"),
        ("(01) 555 0143", "", "(01) 555 0143"),
        ("  Mary   Larkin ", "Mary Larkin", ""),
        ("مريم 0143 555", "مريم", "0143 555"),
        ("Ann 2nd floor", "Ann 2nd floor", ""),
        ("🧵 Zoë", "🧵 Zoë", ""),
        ("", "", ""),
    ],
)
def test_letters_are_the_name_and_digits_the_phone(typed, name, phone):
    """Names and numbers are invented."""
    assert split_typed(typed) == (name, phone)


def test_of_two_runs_of_digits_the_longer_is_the_phone():
    assert split_typed("Mary 123 Mill Lane 086 555 0143") == ("Mary 123 Mill Lane", "086 555 0143")
