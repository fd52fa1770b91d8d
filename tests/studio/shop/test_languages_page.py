"""The owner's pages of the languages of papers."""

from datetime import timedelta

from django.urls import reverse

from studio.shop import clock
from studio.shop.models import Entry, PaperLanguage, PaperPhrase, Profile, TaxClass
from studio.shop.words import phrases, words_for
from studio.shop.words.views import key_of
from tests.conftest import as_read
from tests.factories import GarmentKindFactory, OperationFactory

BRING = "Bring this ticket when you collect. Without it, your name or phone number will do."


def address(text: str, code: str = "de") -> str:
    return reverse("studio-words-phrase", args=[code, key_of(phrases()[text])])


def page(client, name: str, *args, **query) -> str:
    return as_read(client.get(reverse(name, args=args), query).content.decode())


def test_languages_say_how_much_there_is_and_who_has_checked_it(owner_client):
    shown, all_of_them = page(owner_client, "studio-words"), len(phrases())
    assert shown.count(f"{all_of_them} of {all_of_them} phrases") == 5
    assert shown.count("checked by nobody yet") == 5
    owner_client.post(reverse("studio-words-checked", args=["ga"]))
    assert PaperLanguage.objects.get(code="ga").checked_on == clock.today()
    shown = page(owner_client, "studio-words")
    assert shown.count("checked by nobody yet") == 4
    irish, german = (page(owner_client, "studio-words-in", code) for code in ("ga", "de"))
    assert "Checked by you today" in irish
    assert ("I have checked these" in irish, "I have checked these" in german) == (False, True)
    earlier = clock.today() - timedelta(days=3)
    PaperLanguage.objects.filter(code="ga").update(checked_on=earlier)
    assert "Check again" in page(owner_client, "studio-words-in", "ga")


def test_a_phrase_is_changed_where_it_stands_and_the_change_is_undone(owner_client, studio):
    shown = page(owner_client, "studio-words-in", "de", q="abholen mit")
    assert BRING in shown
    assert "Was wir machen" in shown  # of the little claim ticket
    assert "Rechnungskorrektur" not in shown
    part = owner_client.get(address(BRING), headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part

    sent = owner_client.post(address(BRING), {"other": "  Schein bitte\n mitbringen. "})
    assert (
        sent.url == reverse("studio-words-in", args=["de"]) + f"#phrase-{key_of(phrases()[BRING])}"
    )
    assert "Schein bitte mitbringen." in page(owner_client, "studio-words-in", "de")
    assert words_for("de", Profile.objects.get())(BRING) == "Schein bitte mitbringen."

    entry = Entry.objects.latest("pk")
    owner_client.post(reverse("studio-undo"), {"entry": entry.pk})
    assert words_for("de", Profile.objects.get())(BRING).startswith("Bitte bringen")


def test_what_the_program_says_anyway_is_nobody_s_own(owner_client):
    owner_client.post(address("Total"), {"other": "Summe"})
    owner_client.post(address("Total"), {"other": ""})
    owner_client.post(address("Price"), {"other": "Preis"})
    assert not PaperPhrase.objects.exists()


def test_parameters_stay_and_no_other_comes_in(owner_client):
    for typed, words in (
        ("Bitte zahlen Sie {amount}.", "Keep {day}"),
        ("Bitte {amount} bis {day} an {studio.iban}{bank}.", "Take out {bank}"),
    ):
        answer = owner_client.post(address("Please pay {amount} by {day}."), {"other": typed})
        assert words in answer.content.decode()
    pieces = {"one": "ein Stück", "other": "mehrere Stücke"}
    answer = owner_client.post(address("{count} piece"), pieces).content.decode()
    assert "Keep {count}" in answer
    assert not PaperPhrase.objects.exists()


def test_any_language_is_added_by_its_name_or_code(owner_client, studio):
    sent = owner_client.post(reverse("studio-words"), {"code": "Hebrew"})
    assert sent.url == reverse("studio-words-in", args=["he"])
    shown = page(owner_client, "studio-words-in", "he")
    assert 'dir="rtl"' in shown
    owner_client.post(address("Ready by", "he"), {"other": "מוכן עד"})
    assert f"1 of {len(phrases())} phrases" in page(owner_client, "studio-words")
    for typed, words in (
        ("he", "is there already"),
        ("xx-1", "is not the code"),
        ("", "Write the"),
    ):
        answer = owner_client.post(reverse("studio-words"), {"code": typed})
        assert words in answer.content.decode()
    choices = owner_client.get(reverse("client-new")).content.decode()
    assert '<option value="he">Hebrew</option>' in choices


def test_what_the_owner_typed_is_said_to_stay(owner_client, studio):
    """Counted by hand: two operations on offer and one that is not, one kind of garment that the
    program has no word for, terms, the studio's taxes."""
    kind = GarmentKindFactory(name="Kilt")
    OperationFactory(name="Hem", garment_kind=kind)
    OperationFactory(name="Zip", garment_kind=kind)
    OperationFactory(name="Dye", garment_kind=kind, active=False)
    Profile.objects.update(terms="Collect within 30 days.")
    taxes = TaxClass.objects.count()
    named = f", {taxes} of taxes" if taxes else ""
    shown = page(owner_client, "studio-words-in", "pl")
    assert f"Stays as you typed it: 3 of work, 1 of terms and sentences{named}." in shown
    names = reverse("price-names", args=["pl"])
    assert f'href="{names}"' in shown


def test_a_language_that_is_not_there_has_no_page(owner_client):
    for code in ("ar", "../x"):
        assert owner_client.get(f"/studio/words/{code}/").status_code == 404
    assert owner_client.get("/studio/words/de/0123456789/").status_code == 404


def test_in_english_only_what_no_paper_keeps_can_be_said_otherwise(owner_client):
    shown = page(owner_client, "studio-words-in", "en")
    assert "is ready to collect." in shown
    assert "Bring this ticket when you collect" not in shown
    claim = next(key_of(phrase) for phrase in phrases().values() if phrase.text == "Claim ticket")
    assert owner_client.get(f"/studio/words/en/{claim}/").status_code == 404
    assert owner_client.post("/studio/words/en/checked/").status_code == 404


def test_the_pages_take_as_many_queries_with_many_phrases(owner_client, django_assert_num_queries):
    rows = [
        PaperPhrase(code="de", phrase=phrase.text, form="other", text=f"({phrase.text})")
        for phrase in phrases().values()
    ]
    PaperPhrase.objects.bulk_create(rows)
    with django_assert_num_queries(8):
        page(owner_client, "studio-words-in", "de")
