"""The archive, read back and compared with the database."""

import csv
import io
import json
import zipfile

import pytest
from django.core.files.base import ContentFile
from django.core.serializers import serialize
from pypdf import PdfReader

from jobs.counter.privacy.archive import fields, write_archive
from jobs.counter.privacy.belongings import PARTS, belongings
from studio.shop.models import Entry, StoredPaper, User
from tests import factories as f
from tests.drafts import received
from tests.jobs.counter.privacy.full_life import TOLD, full_life

FOREIGN = (User, StoredPaper)


@pytest.fixture
def archive(life, studio) -> zipfile.ZipFile:
    return zipfile.ZipFile(write_archive(life.client, studio))


def read(archive: zipfile.ZipFile) -> dict:
    return json.loads(archive.read("client.json"))


def rows_of(record: dict, path: list[str]) -> list[dict]:
    rows = [record, *record["merged_entries"]]
    for key in path:
        rows = [child for row in rows for child in row[key]]
    return rows


def path_to(part) -> list[str]:
    """The keys that lead to a part's rows from the client."""
    above = [other for other in PARTS if other.model is part.parent]
    return [*(path_to(above[0]) if above else []), part.key]


def test_every_row_is_told_as_the_database_has_it(archive):
    """Compared with Django's own serializer, table by table, field by field."""
    record = read(archive)
    for part in PARTS:
        got = {row["id"]: row for row in rows_of(record, path_to(part))}
        if part.key == "photographs":
            got |= {row["id"]: row for row in record["photographs_of_no_garment"]}
        stored = json.loads(serialize("json", part.model.objects.all()))
        assert stored, part.key
        names = [
            field.name
            for field in fields(part.model)
            if field.related_model not in FOREIGN and field.name != "file"
        ]
        expected = {row["pk"]: {name: row["fields"][name] for name in names} for row in stored}
        assert {pk: {name: row[name] for name in names} for pk, row in got.items()} == expected


def test_the_history_is_told_with_who_did_what(archive):
    (ticket,) = read(archive)["tickets"]
    expected = [
        (entry.verb, entry.parameters, entry.changes, entry.by.shown_name)
        for entry in Entry.objects.order_by("pk")
        if entry.subjects.filter(label="tickets.ticket").exists()
    ]
    assert len(expected) > 5
    assert [
        (entry["verb"], entry["parameters"], entry["changes"], entry["by"])
        for entry in ticket["history"]
    ] == expected


def test_contact_and_merged_entries_are_told(archive):
    record = read(archive)
    assert (record["name"], record["phone"], record["notes"]) == (TOLD.name, TOLD.phone, TOLD.notes)
    assert [entry["name"] for entry in record["merged_entries"]] == [TOLD.other_name]
    assert record["sheets"][0]["guardian"] == TOLD.guardian
    assert record["sheets"][0]["taken_by"] == "Owner"


def test_every_word_is_in_it(archive):
    text = archive.read("client.json").decode()
    assert [word for word in TOLD.words() if word not in text] == []


@pytest.mark.paper
def test_pictures_and_papers_are_the_files_themselves(archive, life):
    names = archive.namelist()
    assert names[:5] == ["README.txt", "client.json", "tickets.csv", "measures.csv", "invoices.csv"]
    assert sorted(names[5:]) == sorted([
        "photographs/26-0001-A-1.jpg",
        "photographs/no-garment-1.jpg",
        "initials/26-0001-2.png",
        "papers/claim-ticket-26-0001-version-1.pdf",
        "papers/claim-ticket-and-1-tag-26-0001-version-1.pdf",
        "papers/claim-ticket-26-0001-version-2.pdf",
        "papers/claim-ticket-and-1-tag-26-0001-version-2.pdf",
        "papers/agreement-26-0001-version-1.pdf",
        "papers/agreement-26-0001-version-2.pdf",
        "papers/invoice-i26-0001.pdf",
        "papers/receipt-r26-0001.pdf",
    ])  # fmt: skip
    with life.invoice.paper.file.open("rb") as file:
        assert archive.read("papers/invoice-i26-0001.pdf") == file.read()
    for name in names:
        if name.endswith(".pdf"):
            assert len(PdfReader(io.BytesIO(archive.read(name))).pages) >= 1
    record = read(archive)
    ticket = record["tickets"][0]
    assert sorted(sheet["paper"] for sheet in ticket["agreements"][1]["printed"]) == [
        "papers/agreement-26-0001-version-2.pdf",
        "papers/claim-ticket-26-0001-version-2.pdf",
        "papers/claim-ticket-and-1-tag-26-0001-version-2.pdf",
    ]
    assert ticket["garments"][0]["photographs"][0]["file"] == "photographs/26-0001-A-1.jpg"
    assert ticket["agreements"][1]["initials"][0]["file"] == "initials/26-0001-2.png"


def table(archive: zipfile.ZipFile, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(archive.read(name).decode("utf-8-sig"))))


def test_tables_for_a_spreadsheet(archive):
    work = table(archive, "tickets.csv")
    assert [(row["operation"], row["unit price"], row["pinned amount"]) for row in work] == [
        ("Take in sides", "30.00", "take off 4.5 cm, total"),
        ("Hem", "24.00", "take off 4.3 cm, total"),
    ]
    (measure,) = table(archive, "measures.csv")
    assert (measure["measure"], measure["as typed"], measure["a minor"]) == (
        "bust", TOLD.typed, "yes",
    )  # fmt: skip
    assert float(measure["millimetres"]) == float(TOLD.millimetres)
    books = table(archive, "invoices.csv")
    assert [(row["number"], row["amount"]) for row in books] == [
        ("I26-0001", "54.00"),
        ("R26-0001", "54.00"),
    ]


def test_a_measure_of_the_owners_own_is_told_by_its_name(life, studio):
    own = f.OwnMeasureFactory(name="Heel to ball")
    sheet = life.client.sheets.latest("pk")
    f.MeasuredFactory(sheet=sheet, key=own.key, own=own)
    archive = zipfile.ZipFile(write_archive(life.client, studio))
    assert table(archive, "measures.csv")[-1]["measure"] == "Heel to ball"
    told = [row["own"] for each in read(archive)["sheets"] for row in each["measures"]]
    assert (told[-1], set(told[:-1])) == ("Heel to ball", {None})


def test_the_readme_names_every_file(archive):
    readme = archive.read("README.txt").decode()
    assert TOLD.name in readme
    for name in archive.namelist()[1:]:
        top = f"{name.split('/')[0]}/" if "/" in name else name
        assert f"\n{top} " in readme
    assert "missing" not in readme


def test_the_same_data_are_the_same_bytes(life, studio):
    first, second = (write_archive(life.client, studio).read() for _ in range(2))
    assert first == second


def test_a_file_that_is_gone_is_named(life, studio):
    photo = life.ticket.garments.get().photos.get()
    photo.file.storage.delete(photo.file.name)
    archive = zipfile.ZipFile(write_archive(life.client, studio))
    assert "photographs/26-0001-A-1.jpg" not in archive.namelist()
    missing = archive.read("README.txt").decode().split("missing from the studio's disk")[1]
    assert "photographs/26-0001-A-1.jpg" in missing


def test_nothing_of_another_client_is_in_it(life, studio, owner):
    received(studio, owner, client=f.ClientFactory(name="Nora Penhale"), note="hers alone")
    text = zipfile.ZipFile(write_archive(life.client, studio)).read("client.json").decode()
    assert "Penhale" not in text
    assert "hers alone" not in text


def test_two_papers_of_one_name_are_two_files(life, studio):
    twin = f.StoredPaperFactory(name="Receipt R26-0001", file=ContentFile(b"%PDF", "twin.pdf"))
    life.ticket.agreements.filter(version=1).update(press=twin)
    names = zipfile.ZipFile(write_archive(life.client, studio)).namelist()
    assert "papers/receipt-r26-0001-2.pdf" in names
    assert len(names) == len(set(names))


@pytest.mark.parametrize("more", [0, 2])
def test_queries_do_not_grow(more, life, studio, owner, django_assert_num_queries):
    """One for each kind of rows, one for the merged entries, two for the history."""
    for _ in range(more):
        received(studio, owner, client=life.client)
    with django_assert_num_queries(len(PARTS) + 3):
        belongings(life.client)


def test_of_a_client_that_is_new(studio):
    archive = zipfile.ZipFile(write_archive(f.ClientFactory(name="Ilse"), studio))
    assert archive.namelist() == [
        "README.txt", "client.json", "tickets.csv", "measures.csv", "invoices.csv",
    ]  # fmt: skip
    assert read(archive)["tickets"] == []


def test_an_erased_client_is_told_as_what_is_left(studio, owner):
    life = full_life(studio, owner)
    type(life.client).objects.filter(pk=life.client.pk).update(name="Erased client")
    life.client.refresh_from_db()
    record = read(zipfile.ZipFile(write_archive(life.client, studio)))
    assert record["name"] == "Erased client"
    assert record["tickets"][0]["invoices"][0]["data"]["client"]["name"] == TOLD.name
