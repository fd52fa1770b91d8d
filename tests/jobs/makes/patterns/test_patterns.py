"""The drawer of patterns: found at once, taken in once, and what each asks for."""

from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.makes.models import Need, Pattern
from jobs.makes.patterns import actions
from studio.shop import clock
from tests import factories as f
from tests.jobs.planning.pages import words
from tests.pages import page_of

NO_ROWS = {"need-TOTAL_FORMS": "0", "need-INITIAL_FORMS": "0"}


def needs(*rows: tuple[str, str, str]) -> dict[str, str]:
    """The table as the page sends it: size, width, length."""
    sent = {"need-TOTAL_FORMS": str(len(rows)), "need-INITIAL_FORMS": "0"}
    for place, row in enumerate(rows):
        sent |= {f"need-{place}-{name}": value for name, value in zip(FIELDS, row, strict=True)}
    return sent


FIELDS = ("size", "width", "length")


def send(client, pk: int | None = None, **sent):
    address = reverse("pattern-edit", args=[pk]) if pk else reverse("pattern-new")
    return client.post(address, NO_ROWS | sent)


def test_its_name_is_enough(owner_client, studio):
    answer = send(owner_client, name="Wrap skirt")
    made = Pattern.objects.get()
    assert answer.url == made.get_absolute_url()
    assert (made.name, made.minutes, made.kinds, made.key) == ("Wrap skirt", None, [], "wrap skirt")


def test_the_table_of_the_envelope(helper_client, studio):
    rows = needs(("12", "45 in", "2 3/8 yd"), ("", "", ""), ("12", "60 in", "1 5/8 yd"))
    send(helper_client, name="Coat", kinds=["woven", "suiting"], minutes="7:30", **rows)
    made = Pattern.objects.get()
    assert (made.minutes, made.kinds) == (450, ["woven", "suiting"])
    kept = [(row.size, row.width_mm, row.length_mm, row.unit) for row in made.needs.all()]
    # One yard is 914.4 mm exactly (1959 agreement): 2 3/8 yd are 2171.7 mm, 1 5/8 yd 1485.9 mm.
    assert kept == [
        ("12", Decimal(1143), Decimal("2171.7"), "yd"),
        ("12", Decimal(1524), Decimal("1485.9"), "yd"),
    ]


def test_the_table_is_shown_as_it_was_written(owner_client, studio):
    rows = needs(("8", "150 cm", "1.6 m"), ("10", "150 cm", "1.7 m"), ("10", "115 cm", "2.2 m"))
    page = owner_client.get(send(owner_client, name="Coat", **rows).url)
    assert "8 150 cm 1.6 m 10 150 cm 1.7 m 10 115 cm 2.2 m" in words(page.text)
    edit = owner_client.get(reverse("pattern-edit", args=[Pattern.objects.get().pk]))
    assert [form["size"].value() for form in edit.context["needs"].forms][:3] == ["8", "10", "10"]


def test_changing_writes_the_table_anew(owner_client, studio):
    need = f.NeedFactory()
    send(owner_client, need.pattern_id, name="Coat", **needs(("", "150 cm", "1.8")))
    (row,) = Need.objects.all()
    assert (row.pattern_id, row.length_typed, row.length_mm) == (need.pattern_id, "1.8 m", 1800)


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (("", "150 cm", ""), "Write the length too."),
        (("", "", "2 m"), "Write the width too."),
        (("", "wide", "2 m"), "Write a length such as"),
        (("", "150 cm", "-2"), "Write a length such as"),
    ],
)
def test_half_a_row_is_asked_about_and_nothing_is_lost(owner_client, studio, row, message):
    page = send(owner_client, name="Coat", notions="four buttons", **needs(row)).text
    assert message in page
    assert "four buttons" in page
    assert not Pattern.objects.exists()


def test_a_width_stands_once_in_a_size(owner_client, studio):
    rows = needs(("12", "150 cm", "2 m"), ("12", "1500 mm", "3 m"))
    assert "This size and width stand above already." in send(owner_client, name="C", **rows).text
    assert not Pattern.objects.exists()


def test_the_bodies_it_is_drafted_for(owner_client, studio):
    """As printed, row by row; what does not go together is asked at its field, nothing is lost."""
    rows = {"body": "36 38", "body_bust": "84 88,5", "body_hip": "90, 94 cm"}
    send(owner_client, name="Shift dress", **rows)
    pattern = Pattern.objects.get()
    assert pattern.body_sizes == [
        {"size": "36", "bust": "84 cm", "hip": "90 cm"},
        {"size": "38", "bust": "88,5 cm", "hip": "94 cm"},
    ]
    form = page_of(owner_client, reverse("pattern-edit", args=[pattern.pk]))
    assert form.one("#id_body_bust")["value"] == "84, 88,5"
    assert "88,5 cm" in page_of(owner_client, pattern.get_absolute_url()).text
    for wrong, said in (
        ({"body_bust": "84"}, "Write one for each of the 2 sizes."),
        ({"body_bust": "84 wide"}, "is no length"),
        ({"body": ""}, "Write the sizes too."),
        ({"body": "36 36"}, "Two sizes are called the same."),
        ({"body": "36 " + "8" * 21}, "A size has at most 20 letters."),
    ):
        refused = send(owner_client, pattern.pk, name="Shift dress", **(rows | wrong))
        assert said in refused.text
        assert 'value="90, 94 cm"' in refused.text
    send(owner_client, pattern.pk, name="Shift dress")
    pattern.refresh_from_db()
    assert pattern.body_sizes == []


def test_a_page_shows_no_more_rows_than_an_envelope_has(owner_client, studio):
    """A number of rows that no page of ours sent made a thousand, and the answer slow."""
    page = send(owner_client, name="Coat", **needs() | {"need-TOTAL_FORMS": "9" * 400})
    assert "Please submit at most 40 forms." in page.text
    assert len(page.context["needs"].forms) == 43
    assert not Pattern.objects.exists()


def test_what_is_owned_already_is_said_before_it_is_kept_twice(owner_client, studio):
    owned = f.PatternFactory(name="Wrap skirt", number="77")
    page = send(owner_client, name="wrap Skirt", number="77").text
    assert "You own this already. Nothing is kept yet." in words(page)
    assert f'name="seen" value="{owned.pk}"' in page
    assert Pattern.objects.count() == 1

    send(owner_client, name="wrap Skirt", number="77", seen=[owned.pk])
    assert Pattern.objects.count() == 2


def test_another_number_is_another_pattern(studio, owner):
    f.PatternFactory(name="Wrap skirt", number="77")
    actions.add_pattern(facts={"name": "Wrap skirt", "number": "78"}, needs=[], by=owner)
    assert Pattern.objects.count() == 2


@pytest.mark.postgres
@pytest.mark.parametrize("typed", ["jup", "JÜPE", "jupe 41", "atelier"])
def test_part_of_a_name_finds_it_whatever_its_accents(owner_client, studio, typed):
    f.PatternFactory(name="Jüpe portefeuille", number="4126", maker="Atelier Weir")
    f.PatternFactory(name="Coat", number="99")
    page = words(owner_client.get(reverse("pattern-list"), {"q": typed}).text)
    assert "Jüpe portefeuille" in page
    assert "Coat" not in page


@pytest.mark.postgres
def test_while_typing_only_the_list_comes(owner_client, studio):
    f.PatternFactory(name="Coat")
    asked = {"HTTP_HX_REQUEST": "true"}
    part = owner_client.get(reverse("pattern-list"), {"q": "co"}, **asked).text
    assert "Coat" in part
    assert "<html" not in part


def test_what_left_the_drawer_is_out_of_the_way_and_comes_back(owner_client, studio):
    pattern = f.PatternFactory(name="Coat")
    for _ in range(2):
        owner_client.post(reverse("pattern-away", args=[pattern.pk]), follow=True)
    listed, gone = reverse("pattern-list"), f"{reverse('pattern-list')}?gone=yes"
    assert "Coat" not in words(owner_client.get(listed).text)
    assert "Coat" in words(owner_client.get(gone).text)
    owner_client.post(reverse("pattern-back", args=[pattern.pk]), follow=True)
    assert "Coat" in words(owner_client.get(listed).text)


def yards(eighths: str) -> Decimal:
    whole, _, part = eighths.partition(" ")
    top, bottom = part.split("/") if part else ("0", "1")
    return (Decimal(whole) + Decimal(top) / Decimal(bottom)) * Decimal("914.4")


def test_the_table_is_shown_for_another_width_by_the_published_chart(owner_client, studio):
    # Fabric-width chart of the US extension services, row 7: 2 yd of 58-60 in, 2 3/4 yd of 44-45.
    facts = {"width_mm": Decimal(1524), "width_typed": "60 in", "unit": "yd"}
    need = f.NeedFactory(length_mm=yards("2"), length_typed="2 yd", **facts)
    page = owner_client.get(need.pattern.get_absolute_url(), {"width": "45 in"}).text
    assert "2 3/4 yd by the chart" in words(page)
    page = owner_client.get(need.pattern.get_absolute_url(), {"width": "120 cm"}).text
    # 47.24 in between 45 (2 3/4 yd) and 50 (2 3/8): 2.58 yd, rounded up to an eighth.
    assert "2 5/8 yd between two columns of the chart" in words(page)


def test_for_a_cloth_on_the_shelf_what_it_shrinks_counts(owner_client, studio):
    need = f.NeedFactory()
    cloth = f.ClothFactory(shrink_along=Decimal(5))
    page = words(owner_client.get(need.pattern.get_absolute_url(), {"cloth": cloth.pk}).text)
    # The same width: 2.10 m / 0.95 = 2.2105 m, rounded up to 5 cm.
    assert "2.25 m at its own width" in page
    assert "3 m of it is left, 140 cm wide." in page


def test_cloth_that_gets_narrower_in_the_wash_is_an_estimate(owner_client, studio):
    need = f.NeedFactory()
    cloth = f.ClothFactory(shrink_across=Decimal(5))
    page = words(owner_client.get(need.pattern.get_absolute_url(), {"cloth": cloth.pk}).text)
    # The same area of 5 % less width: 2.10 m / 0.95 = 2.2105 m, rounded up to 5 cm.
    assert "2.25 m by area, an estimate" in page


def test_the_widest_piece_is_held_against_the_width(owner_client, studio):
    pattern = f.PatternFactory(widest_mm=Decimal(1200), widest_typed="120 cm")
    f.NeedFactory(pattern=pattern)
    page = words(owner_client.get(pattern.get_absolute_url(), {"width": "110 cm"}).text)
    assert "its widest piece does not fit" in page


@pytest.mark.postgres
@pytest.mark.parametrize("each", [1, 3])
def test_the_list_asks_as_often_for_one_as_for_three(
    owner_client, studio, each, django_assert_num_queries
):
    f.PatternFactory.create_batch(each)
    # The session, the user, the profile; how many, the patterns, and what they ask for.
    with django_assert_num_queries(6):
        owner_client.get(reverse("pattern-list"))


@pytest.mark.postgres
@pytest.mark.parametrize("gone", ["", "?gone=yes"])
def test_a_long_drawer_has_letters_that_lead_to_their_page(owner_client, studio, gone):
    """25 on a page, in the order of names: of 26 A the B stand on the second."""
    left = {"gone_at": clock.now()} if gone else {}
    for name, count in (("Álma", 26), ("Blouse", 1)):
        f.PatternFactory.create_batch(count, name=name, **left)
    letters = page_of(owner_client, reverse("pattern-list") + gone).all("nav[aria-label=Letters] a")
    more = "?gone=yes&" if gone else "?"
    assert [at["href"] for at in letters] == [f"{more}page=1#letter-a", f"{more}page=2#letter-b"]
    address, _, place = letters[1]["href"].partition("#")
    (begins,) = page_of(owner_client, reverse("pattern-list") + address).all(f"li#{place}")
    assert begins.text.startswith("Blouse")
    for other in ("?q=blouse", "" if gone else "?gone=yes"):
        shown = page_of(owner_client, reverse("pattern-list") + other)
        assert not shown.all("nav[aria-label=Letters]")


@pytest.mark.parametrize("each", [1, 3])
def test_the_page_asks_as_often_for_one_as_for_three(
    owner_client, studio, each, django_assert_num_queries
):
    pattern = f.PatternFactory()
    for place in range(each):
        f.NeedFactory(pattern=pattern, width_mm=Decimal(1000 + place))
        f.MakeFactory(pattern=pattern)
        f.ClothFactory()
    # The session, the user, the profile; pattern, table, makes with what marks their tiles, and the
    # cloths to choose from.
    with django_assert_num_queries(16):
        owner_client.get(pattern.get_absolute_url())


def test_what_was_sewn_from_it_is_sewn_again_in_one_tap(owner_client, studio):
    pattern = f.PatternFactory(name="Smock", garment="top")
    address = pattern.get_absolute_url()
    assert "Sew it again" not in owner_client.get(address).text
    facts = {"words": "Blue smock", "size": "14", "finished_on": "2026-02-01"}
    f.MakeFactory(pattern=pattern, state="finished", **facts)
    page = owner_client.get(address)
    assert "Sew it again" in page.text
    sent = {"form_key": page.context["form_key"]}
    for _ in range(2):
        owner_client.post(reverse("pattern-again", args=[pattern.pk]), sent)
    again = pattern.makes.get(state="idea")
    assert (again.words, again.size) == ("Blue smock", "14")


def test_hours_are_learned_from_finished_makes(owner_client, studio, owner):
    pattern = f.PatternFactory(name="Smock", minutes=240)
    address = reverse("pattern-hours", args=[pattern.pk])
    asked = {"HTTP_HX_REQUEST": "true"}
    assert "4 h your guess, nothing finished yet" in words(owner_client.get(address, **asked).text)
    for place, sittings in enumerate([(100, 50), (300,), (190,), (500,)]):
        made = place < 3
        state = "finished" if made else "under_way"
        day = f"2026-02-0{place + 1}" if made else None
        make = f.MakeFactory(pattern=pattern, state=state, finished_on=day)
        for minutes in sittings:
            f.BenchTimeFactory(line=None, make=make, purpose="own", minutes=minutes, by=owner)
    # 150, 190 and 300 minutes of those finished: the middle one is 190, 3 h 10.
    part = words(owner_client.get(address, **asked).text)
    assert "3 h 10 the middle one of its 3 makes ; your guess 4 h" in part
    page = words(owner_client.get(address).text)
    assert all(hours in page for hours in ("2 h 30", "3 h 10", "5 h"))
    assert "8 h 20" not in page


def test_what_a_make_changed_is_carried_in_and_taken_out_on_its_page(owner_client, studio):
    pattern = f.PatternFactory()
    make = f.MakeFactory(words="Blue smock", pattern=pattern, changes="Sleeves 3 cm longer.")
    address = pattern.get_absolute_url()
    assert "Not carried in yet Sleeves 3 cm longer. From Blue smock" in words(
        owner_client.get(address).text
    )
    carry = reverse("pattern-carry", args=[pattern.pk, make.pk])
    page = words(owner_client.post(carry, follow=True).text)
    assert "Not carried in yet" not in page
    assert "Take out again" in page
    out = reverse("pattern-take-out", args=[pattern.versions.get().pk])
    assert "Taken out again on" in words(owner_client.post(out, follow=True).text)
