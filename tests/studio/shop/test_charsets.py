"""Letters of a file without a mark, written by Python's own ``codecs``."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from studio.shop.charsets import GUESSED, letters_of
from studio.shop.files import UnreadableFileError, decoded
from tests.factories import ClientFactory
from tests.rows import each_row

TEXTS = (
    "Nom;Prénom;Ville\nLefèvre;Hélène;Besançon\nCœur;Benoît;Angoulême\nd\u2019Été;Zoë;Orléans",
    "Nom;Ville\nL\u2019Œil;Noël;Île de la Cité \u2013 3\nFrançois;Sète",
    "Name;Straße\nJürgen Müller;Größweg 1\nÄnne Öhlich;Übergasse\nGroß;Käthe",
    "name;ort\nJosef;Hauptstraße 5\nAnn;Gasse 1",
    "nombre;ciudad\nGarcía;Logroño\nIñigo Núñez;Málaga\nÁngela;Cádiz",
    "nombre;ciudad\nGarcía;x",
    "ainm;baile\nSéamus Ó Briain;Baile Átha Cliath\nMáire O\u2019Brien;Dún Laoghaire\nÉire;27½ €5",
    "navn;by\nSøren Åkesson;Århus\nÆgir Bjørn;Malmö",
    "name;notes\nAnn;paid 10 €\nBea;Škoda\nCara;Žofia",
    "name;notes\nMary;Mary\u2019s hem \u2013 “long”\nAnn;x",
    "imię;nazwisko\nŁukasz;Wójcik\nMałgorzata;Dąbrowska\nZażółć;Gęślą",
    "nome\nJoão\nConceição\nSimões",
    "jméno;město\nŘehoř Kučera;Jiříkov\nVěra Tůmová;Kaplice",
    "jméno\nOndřej Hrdlička\nŽofie Černá\nLuďka Maňasová",
    "név;város\nSzőke Ágnes;Győr\nErdős Jenő;Fűzfő",
    "név\nSzűcs Gergő\nTóth Gyöngyi\nKőszegi Ilona",
    "meno\nĽudmila Kováčová\nJán Ďurček\nLukáš Mĺkvy",
    "imię\nAgnieszka Zięba\nZofia Gdańska\nJózef Śliwa",
    "ime\nĐuro Šarić\nNađa Kovačević",
    "nume\nIonuţ Brătescu\nŞtefan Câmpeanu",
    "nom\nIrène Rivière\nGaëtan Brûlé\nLoïc Chêne",
    "nome\nNicolò Dalò\nMarilù Cefalù\nGiosuè Libertà",
    "name\nZoë\n",
    "name\nMüller\n",
    "NAME\nMÜLLER\nJOSÉ\nÓRLA",
)


SURE = ("utf-8", "utf-8-sig", "utf-16", "utf-32")


@each_row(
    ("text", "charset"),
    [(text, way) for text in TEXTS for way in (*SURE, "utf-16-le", "utf-16-be", *GUESSED)],
)
def test_each_text_is_read_as_it_was_written(text, charset):
    """What had no mark was UTF-8 or else Windows-1252, and wrong in silence."""
    try:
        data = text.encode(charset)
    except UnicodeEncodeError:
        return
    read = letters_of(data)
    assert (read.text, read.is_guess) == (text, charset not in SURE)


def test_a_few_letters_of_another_charset_are_read_and_their_lines_named():
    """No letter is replaced, and the rest stays UTF-8."""
    lines = ["name", "Zoë", "José", "Müller", "Françoise", "“Órla” \u2013 10 €", "Ann"]
    data = b"\n".join(
        line.encode("cp1252" if number in {3, 5} else "utf-8") for number, line in enumerate(lines)
    )
    read = letters_of(data)
    assert read.text == "\n".join(lines)
    assert read.mended == (4, 6)
    assert read.mended_of([2, 3, 5, 7]) == {3, 5}
    assert letters_of(data.replace(b"\n", b"\r")).mended == (4, 6)


def test_what_was_chosen_is_used_or_refused():
    data = "name\nŠkoda\n".encode("cp1250")
    assert decoded(data, "cp1250").text == "name\nŠkoda\n"
    assert decoded(data, "cp850").charset == "cp850"
    with pytest.raises(UnreadableFileError, match="cannot be read as UTF-8"):
        decoded(data, "utf-8")


@pytest.mark.django_db
def test_the_page_says_how_it_read_the_file_and_reads_it_in_another_way(owner_client):
    """The pages of tables that have no desk of their own."""
    mary = ClientFactory()

    def look(text: str, charset: str, **chosen: str) -> str:
        file = SimpleUploadedFile("sheets.csv", text.encode(charset))
        return owner_client.post(
            f"/clients/{mary.pk}/sheets/import/", {"file": file, **chosen}
        ).text

    table = "Date,Waist,Note\n" + "".join(
        f"2026-11-{day},72 cm,{note}\n" for day, note in enumerate(NOTES, 11)
    )
    page = look(table, "mac_roman")
    assert "The file reads as Mac Roman" in page
    assert "<bdi>Zoë Müller</bdi>, <bdi>José</bdi>, <bdi>Órla</bdi>" in page
    assert "<bdi>Zoæ Mƒller</bdi>" in look(table, "mac_roman", letters="cp850")
    assert "The file reads as" not in look(table, "utf-8")
    assert "cannot be read as UTF-8. Choose other letters." in look(table, "cp850", letters="utf-8")


@pytest.mark.django_db
def test_the_desk_says_how_it_read_the_file(owner_client):
    def look(data: bytes) -> str:
        file = SimpleUploadedFile("clients.csv", data)
        return owner_client.post("/clients/import/", {"file": file}, follow=True).text

    table = "name,phone\n" + "".join(f"{name},123{at}\n" for at, name in enumerate(NOTES))
    page = look(table.encode("mac_roman"))
    shown = "Read as Mac Roman:</span> <bdi>Zoë Müller</bdi>, <bdi>José</bdi>, <bdi>Órla</bdi>"
    assert shown in page
    assert "Read as" not in look(table.encode())


NOTES = ("Ann", "Zoë Müller", "José", "Órla", "Åsa")
