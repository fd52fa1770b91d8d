"""The price list as CSV: out for a spreadsheet, in again after a look at what it would do."""

import csv
import io

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.pricing import actions
from jobs.pricing.files import OPERATION_HEADINGS, SURCHARGE_HEADINGS
from jobs.pricing.models import GarmentKind, Operation, Surcharge
from tests.factories import LineFactory, OperationFactory, SurchargeFactory
from tests.studio.shop.first_run_form import Fields
from tests.thorough import thinned

pytestmark = pytest.mark.django_db

HEADINGS = (
    "garment,operation,price,minutes,fitting first,order of work,stitch,asks how far,"
    "usual basis,usual measure,where a fitting is booked,"
    "days to hang"
)


def look(client, text, name="prices.csv"):
    """Send a file; the page that says what it would do."""
    data = text if isinstance(text, bytes) else text.encode()
    file = SimpleUploadedFile(name, data, "text/csv")
    return client.post(reverse("prices-import"), {"file": file})


def bring_in(client, text):
    """Send a file, look, and press the button."""
    held = Fields.of(look(client, text).text)["held"]
    return client.post(reverse("prices-import"), {"held": held}, follow=True)


def downloaded(client, name) -> list[list[str]]:
    text = client.get(reverse(name)).content.decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text)))


def test_what_goes_out_has_the_words_of_the_pages(owner_client):
    pinned = {"takes_amount": True, "usual_basis": "total", "usual_measure": "take_off"}
    trousers = {"garment_kind__name": "Trousers", "name": "Hem", "stitch": "103"}
    OperationFactory(**trousers, **pinned, price=2450, minutes=25)
    assert downloaded(owner_client, "prices-csv") == [
        HEADINGS.split(","),
        [
            "Trousers",
            "Hem",
            "24.50",
            "25",
            "no",
            "Hem",
            "103",
            "yes",
            "Total",
            "Take off",
            "After it",
            "0",
        ],
    ]
    SurchargeFactory(name="Lined", amount=300, minutes=5)
    assert downloaded(owner_client, "surcharges-csv")[1] == ["Lined", "25", "3.00", "25", "5"]


def test_a_name_that_looks_like_a_formula_is_defused_and_comes_back_as_it_was(owner_client):
    OperationFactory(garment_kind__name="Other", name="=1+1", price=100)
    assert downloaded(owner_client, "prices-csv")[1][1] == "'=1+1"
    text = owner_client.get(reverse("prices-csv")).content.replace(b"1.00", b"2.00")
    bring_in(owner_client, text)
    assert Operation.objects.get().price == 200
    assert Operation.objects.get().name == "=1+1"


@pytest.mark.parametrize("currency", thinned(["EUR", "JPY", "KWD"], {"KWD"}.__contains__))
def test_the_whole_list_goes_out_and_comes_back_the_same(owner_client, owner, studio, currency):
    studio.currency = currency
    studio.save()
    actions.load_starting_list(by=owner)
    for table, model in (("prices-csv", Operation), ("surcharges-csv", Surcharge)):
        before = list(model.objects.values())
        file = owner_client.get(reverse(table)).content
        page = look(owner_client, file).text
        assert f"<dt>As it is</dt><dd>{len(before)}</dd>" in page
        model.objects.all().delete()
        bring_in(owner_client, file)
        after = list(model.objects.values())
        forget = {"id", "position"}
        assert [{k: v for k, v in row.items() if k not in forget} for row in after] == [
            {k: v for k, v in row.items() if k not in forget} for row in before
        ]


def test_looking_changes_nothing_and_says_what_is_new_and_what_changes(owner_client):
    OperationFactory(garment_kind__name="Trousers", name="Hem", price=2400, minutes=30)
    page = look(
        owner_client, "garment,operation,price,minutes\nTrousers,Hem,26,30\nKilt,Pleat,40,60\n"
    ).text
    assert "Kilt: Pleat" in page
    assert "<dt>New</dt><dd>1</dd><dt>Changed</dt><dd>1</dd><dt>As it is</dt><dd>0</dd>" in page
    assert Operation.objects.get().price == 2400
    assert GarmentKind.objects.count() == 1


def test_brought_in_it_changes_what_it_names_and_leaves_the_rest(owner_client):
    hem = OperationFactory(garment_kind__name="Trousers", name="Hem", price=2400, stitch="103")
    other = OperationFactory(name="Taper", price=5500)
    line = LineFactory(operation=hem, unit_price=2400)
    text = "garment;operation;price\nTrousers;Hem;26,50\nKilt;Pleat;1 040,00\n"
    page = bring_in(owner_client, text).text
    assert "1 new, 1 changed." in page
    for entry in (hem, other, line):
        entry.refresh_from_db()
    assert (hem.price, hem.minutes, hem.stitch) == (2650, 30, "103")
    assert other.price == 5500
    assert line.unit_price == 2400
    pleat = Operation.objects.get(garment_kind__name="Kilt")
    assert (pleat.name, pleat.price, pleat.minutes) == ("Pleat", 104_000, 0)


def test_pressed_twice_it_is_as_once(owner_client):
    for _ in range(2):
        bring_in(owner_client, "surcharge,price %\nLined,25\nPleats,30\n")
    assert [(entry.name, entry.percent) for entry in Surcharge.objects.all()] == [
        ("Lined", 25), ("Pleats", 30),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        (",Hem,24,30,no,Hem,,no,,", "garment: is missing."),
        ("Kilt,,24,30,no,Hem,,no,,", "operation: is missing."),
        ("Kilt,Hem,,30,no,Hem,,no,,", "price: is missing."),
        ("Kilt,Hem,dear,30,no,Hem,,no,,", "price: Write an amount in EUR"),
        ("Kilt,Hem,-4,30,no,Hem,,no,,", "price: This amount cannot be negative."),
        ("Kilt,Hem,24.999,30,no,Hem,,no,,", "price: EUR is written with at most 2 decimals."),
        ("Kilt,Hem,99999999,30,no,Hem,,no,,", "more money than a price can be."),
        ("Kilt,Hem,24,6001,no,Hem,,no,,", "minutes: write a whole number up to 6000"),
        ("Kilt,Hem,24,1e3,no,Hem,,no,,", "minutes: write a whole number up to 6000"),
        ("Kilt,Hem,24,-3,no,Hem,,no,,", "minutes: write a whole number up to 6000"),
        ("Kilt,Hem,24,30,maybe,Hem,,no,,", "fitting first: write yes or no, not “maybe”."),
        ("Kilt,Hem,24,30,no,Before lunch,,no,,", "order of work: write one of Body,"),
        ("Kilt,Hem,24,30,no,Hem,999,no,,", "stitch: an ISO 4915 stitch is 101 to 699"),
        ("Kilt,Hem,24,30,no,Hem,,no,Both,", "usual basis: write one of Total, Each side"),
        ("Kilt,Hem,24,30,no,Hem,,no,,Shorter", "usual measure: write one of Finished,"),
        (f"{'x' * 61},Hem,24,30,no,Hem,,no,,", "garment: at most 60 letters."),
        ("Kilt,<script>alert(1)</script>,dear,30,no,Hem,,no,,", "price: Write an amount"),
    ],
)
def test_a_row_that_cannot_be_is_named_and_nothing_is_brought_in(owner_client, row, problem):
    text = f"{HEADINGS}\nSarong,Hem,20,20,no,Hem,,no,,\n{row}\n"
    page = look(owner_client, text).text
    assert "<strong>Line 3</strong>" in page
    assert problem in page
    assert 'name="held"' not in page
    assert "<script>alert" not in page
    owner_client.post(reverse("prices-import"), {"held": text})
    assert Operation.objects.count() == GarmentKind.objects.count() == 0


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("Lined,NaN,0,0,0", "price %: write 0 to 999.999"),
        ("Lined,1000,0,0,0", "price %: write 0 to 999.999"),
        ("Lined,-1,0,0,0", "price %: write 0 to 999.999"),
        ("Lined,1.2345,0,0,0", "price %: write 0 to 999.999"),
        ("Lined,some,0,0,0", "price %: write a percentage"),
        ("Lined,25,0,0,often", "fixed minutes: write a whole number"),
        (",25,0,0,0", "surcharge: is missing."),
    ],
)
def test_a_surcharge_that_cannot_be(owner_client, row, problem):
    page = look(owner_client, f"surcharge,price %,fixed price,minutes %,fixed minutes\n{row}\n")
    assert problem in page.text
    assert Surcharge.objects.count() == 0


def test_one_operation_on_two_lines_is_refused(owner_client):
    page = look(owner_client, "garment,operation,price\nKilt,Hem,20\nKilt,Hem,30\n").text
    assert "“Kilt: Hem” stands on line 2 already." in page


def test_a_new_operation_needs_a_price_column(owner_client):
    page = look(owner_client, "garment,operation,minutes\nKilt,Hem,20\n").text
    assert "price: is missing." in page


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "The file is empty."),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not a text file"),
        (b"PK\x03\x04rest", "Save it as CSV"),
        (b"name,phone\nMara,1\n", "The first line names the columns"),
        (b"surcharge,price %\n", "The first line names the columns"),
        (b"surcharge,surcharge\nLined,Lined\n", "Two columns have the same heading"),
        (b'surcharge\n"Lined\n', "cannot be read"),
    ],
)
def test_a_file_that_is_no_price_list(owner_client, data, message):
    assert message in look(owner_client, data).text


def test_no_file_at_all(owner_client):
    assert "Choose a file." in owner_client.post(reverse("prices-import"), {}).text


def test_a_list_of_more_rows_than_any_studio_has_is_refused(owner_client):
    rows = "".join(f"Surcharge {n},5\n" for n in range(2001))
    page = look(owner_client, f"surcharge,price %\n{rows}").text
    assert "more than 2000 rows" in page
    assert "held" not in Fields.of(page)


def test_the_guide_names_every_column():
    guide = (settings.BASE_DIR / "docs" / "prices.md").read_text().replace("\n", " ")
    headings = [*OPERATION_HEADINGS, *SURCHARGE_HEADINGS]
    assert [heading for heading in headings if f"*{heading}*" not in guide] == []
