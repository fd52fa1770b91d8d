"""The phrases of clients' papers: each language says all of them, with their parameters; no
template holds a word of its own."""

import csv
import re
from gettext import c2py
from pathlib import Path

import pytest
from babel.messages.pofile import read_po
from django.conf import settings
from django.template.base import Lexer, TokenType
from fontTools.ttLib import TTFont

from clients.models import Client
from jobs.billing.models import Payment
from jobs.counter.dropoff.desk import COLOURS
from jobs.planning.models import Fitting
from jobs.pricing import quote
from jobs.tickets.agreements import AS_FITS, REASONS, TOLD, WAITED, WAITED_FOR
from jobs.tickets.facts import FACTS, VALUE
from jobs.tickets.models import Garment, Initials
from studio.shop import words as home
from studio.shop.models import PaperPhrase, Profile
from studio.shop.paper.letters import unprintable
from studio.shop.words import (
    PARAMETER,
    Words,
    forms,
    forms_of,
    language_code,
    phrases,
    provided,
    translated,
    words_for,
)

OTHERS = [code for code in provided() if code != "en"]
ROOMS = ("tickets", "billing")
# Papers of the bench and the rail: the studio's own, in its language.
OWN = {"work_sheet.html", "_tag.html", "tag.html", "tags.html"}
# Terms of ISO 13616 and ISO 9362, the same in every language.
TERMS = {"IBAN", "BIC"}
FOR_READERS = re.compile(r'(?:alt|title|aria-label)="([^"]*)"')
TAG = re.compile(r"<[^>]*>")
CLASSES = re.compile(r"{% block kind %}.*{% endblock %}")
with Path(settings.BASE_DIR, "fixtures/prices.csv").open() as _prices:
    KINDS = {row["garment"] for row in csv.DictReader(_prices)}
TEMPLATES = sorted(
    path
    for room in ROOMS
    for path in Path(settings.BASE_DIR, "templates", room, "papers").glob("*.html")
    if path.name not in OWN
) + [
    Path(settings.BASE_DIR, "templates/counter", name)
    for name in ("papers/notice.html", "messages/client_page.html")
]


def test_the_six_languages_are_there():
    assert set(provided()) >= {"en", "de", "fr", "es", "pl", "ga"}
    assert len(phrases()) > 150


@pytest.mark.parametrize("code", OTHERS)
def test_every_phrase_is_said_with_all_its_parameters(code):
    texts = translated(code)
    wanted = {
        (phrase.text, form) for phrase in phrases().values() for form in forms_of(phrase, code)
    }
    assert set(texts) == wanted
    for (phrase, _), text in texts.items():
        assert text.strip() == text != ""
        assert set(PARAMETER.findall(text)) == phrases()[phrase].parameters, text
        assert not unprintable(text), text


@pytest.mark.parametrize(
    "family", ["inter", "literata", *(f"paper-inter-{weight}" for weight in (400, 500, 600, 700))]
)
def test_the_project_s_own_fonts_have_every_letter(family):
    """The files of pages and papers, read by fontTools; figures and days included."""
    fonts = Path(settings.BASE_DIR, "studio/shop/static/studio/fonts").glob(f"{family}*.woff2")
    has = {code for path in fonts for code in TTFont(path).getBestCmap()}
    text = "".join(text for code in OTHERS for text in translated(code).values())
    for code in OTHERS:
        locale = home.locale_of(code)
        text += "".join(locale.months["format"]["abbreviated"].values())
        text += "".join(locale.days["format"]["abbreviated"].values())
        text += Words(code, code, code).money(-123456789, "EUR")
    # A blank needs no font of its own; the arrow between two prices is on paper alone.
    wanted = {letter for letter in text if not letter.isspace()}
    wanted -= set() if family.startswith("paper") else {"→"}
    assert {letter for letter in wanted if ord(letter) not in has} == set()


@pytest.mark.parametrize("code", OTHERS)
def test_the_plural_forms_are_those_of_gettext_and_of_cldr(code):
    """CLDR's rule, as Babel has it, against the C expression of the file's own header."""
    with (Path(home.__file__).parent / f"{code}.po").open("rb") as file:
        header = dict(read_po(file).mime_headers)["Plural-Forms"]
    count, rule = re.fullmatch(r"nplurals=(\d); plural=(.*);", header).groups()
    index, names = c2py(rule), forms(code)
    assert len(names) == int(count)
    for number in range(200):
        assert names[index(number)] == home.locale_of(code).plural_form(number), number


def said_by_templates() -> set[str]:
    """The phrases that the templates ask for, their second forms left out."""
    asked = set()
    for path in TEMPLATES:
        for token in Lexer(path.read_text()).tokenize():
            parts = token.split_contents() if token.token_type == TokenType.BLOCK else [""]
            if parts[0] == "phrase":
                asked.add(parts[1].strip('"'))
    return asked


def said_by_the_program() -> set[str]:
    """One of a few choices, and what is made in Python."""
    choices = [
        *Payment.Method.labels, *Payment.Kind.labels, *Fitting.Kind.labels, *Initials.Medium.labels,
        *(str(label) for value, label in Garment.Washed.choices if value),
    ]  # fmt: skip
    measures = {
        text for text in phrases() if re.match(r"(finished|take off|let out) \{amount\}", text)
    }
    assert len(measures) == 12
    return (
        {label[:1].lower() + label[1:] for label in choices}
        | {fact.words for fact in FACTS if fact.words and fact.words != VALUE}
        | set(TOLD.values())
        | {*REASONS, WAITED[0], *WAITED_FOR, AS_FITS}
        | {name[:1].lower() + name[1:] for name in [*KINDS, *COLOURS]}
        | {quote.MINIMUM_CHARGE, "rush", "discount", "rounding", "Reverse charge"}
        | measures
    )


def said_in_code() -> set[str]:
    source = "\n".join(
        Path(settings.BASE_DIR, path).read_text()
        for path in (
            "jobs/tickets/messages.py", "jobs/planning/messages.py", "jobs/billing/messages.py",
            "jobs/counter/pick_up.py", "jobs/billing/documents.py",
            "jobs/counter/messages/notice.py", "jobs/counter/messages/client_page.py",
            "studio/shop/paper/__init__.py", "jobs/tickets/documents/layouts.py",
            "jobs/tickets/documents/papers.py",
        )
    )  # fmt: skip
    joined = re.sub(r'"\s*\n\s*"', "", source)
    return {text for text in phrases() if f'"{text}"' in joined or f"'{text}'" in joined}


def test_every_phrase_that_is_asked_for_is_in_the_catalogue_and_no_other():
    asked = said_by_templates() | said_by_the_program()
    assert asked <= set(phrases())
    assert set(phrases()) == asked | said_in_code()


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_holds_a_word_of_its_own(path):
    bare = ""
    for token in Lexer(CLASSES.sub("", path.read_text())).tokenize():
        bare += token.contents if token.token_type == TokenType.TEXT else "\0"
    bare = bare.replace("&nbsp;", " ").replace("&#xFE0E;", "")
    shown = " ".join([*FOR_READERS.findall(bare), TAG.sub(" ", bare)])
    assert set(re.findall(r"[^\W\d_]{2,}", shown)) <= TERMS


def test_what_the_owner_wrote_comes_first_and_what_is_missing_stays_english(studio):
    PaperPhrase.objects.create(code="de", phrase="Total", form="other", text="Summe <b>")
    PaperPhrase.objects.create(code="ar", phrase="Ready by", form="other", text="جاهز في")
    german, arabic = words_for("de", studio), words_for("ar", studio)
    assert (german("Total"), german.html("Total")) == ("Summe <b>", "Summe &lt;b&gt;")
    assert german("Received {when}.", when="{count} <i>") == "Angenommen: {count} <i>."
    assert "&lt;i&gt;" in german.html("Received {when}.", when="<i>")
    assert (arabic("Ready by"), arabic("Total"), arabic.right_to_left) == ("جاهز في", "Total", True)
    assert arabic("{count} piece", "{count} pieces", count=2) == "2 pieces"


def test_words_are_read_once_for_a_studio_and_not_at_all_for_english(
    studio, django_assert_num_queries
):
    with django_assert_num_queries(0):
        assert words_for("", studio)("Total") == "Total"
    fresh = Profile.objects.get()
    with django_assert_num_queries(1):
        assert [words_for(code, fresh)("Total") for code in ("de", "pl", "ga")] == [
            "Gesamt", "Razem", "Iomlán",
        ]  # fmt: skip


@pytest.mark.parametrize(
    ("count", "polish", "irish"),
    [(1, "1 sztuka", "1 phíosa"), (3, "3 sztuki", "3 phíosa"), (5, "5 sztuk", "5 phíosa"),
     (8, "8 sztuk", "8 bpíosa"), (12, "12 sztuk", "12 píosa"), (22, "22 sztuki", "22 píosa")],
)  # fmt: skip
def test_counting(count, polish, irish):
    """Hand-made from the grammars' rules, as CLDR has them (Polish one/few/many, Irish 1 to 10)."""
    for code, text in (("pl", polish), ("ga", irish)):
        assert Words(code, code, code)("{count} piece", "{count} pieces", count=count) == text


def test_garments_and_colours_of_the_program_are_translated_and_typed_ones_stay():
    """Hand-made: the kinds of the starting list and the colours offered at drop-off."""
    polish, german, english = (Words(code, code, code) for code in ("pl", "de", "en"))
    assert (polish.thing("Trousers"), polish.thing("black")) == ("Spodnie", "czarny")
    assert [polish.thing(typed) for typed in ("iPad cover", "black, faded", "rush", "")] == [
        "iPad cover", "black, faded", "rush", "",
    ]  # fmt: skip
    assert german.garment("B · trousers, black") == "B · Hose, schwarz"
    assert german.garment("B · life jacket, harness, red") == "B · Rettungsweste, Gurt, rot"
    assert german.garment("my cape, red") == "my cape, rot"
    assert english.garment("A · Life jacket, harness") == "A · Life jacket, harness"


def test_a_language_is_named_by_its_code_in_english_or_as_its_speakers_do():
    assert [language_code(typed) for typed in ("Deutsch", " German ", "pt-BR", "arabic", "")] == [
        "de", "de", "pt-BR", "ar", "",
    ]  # fmt: skip
    with pytest.raises(LookupError, match="code of a language"):
        language_code("Klingonish")
    assert Client(language="ga").language_name == "Irish"
