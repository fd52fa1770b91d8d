"""What the owner does to the words of papers: one function, one transaction each."""

from collections.abc import Mapping

from studio.shop import clock, verbs
from studio.shop.actions import the_studio
from studio.shop.history import record
from studio.shop.models import Entry, PaperLanguage, PaperPhrase, Profile, User
from studio.shop.words import ENGLISH, NAME, Phrase, brought, language_name


def add_language(*, code: str, by: User) -> Entry | None:
    """One more that a client can have. Sent twice, it is there once."""
    name = language_name(code)
    with record(verbs.LANGUAGE_ADDED, about=the_studio(), by=by, language=name) as step:
        language, fresh = PaperLanguage.objects.get_or_create(code=code)
        if fresh:
            step.add(language)
    return step.entry


def change_phrase(*, code: str, phrase: Phrase, texts: Mapping[str, str], by: User) -> Entry | None:
    """The owner's own words for a phrase, by plural form; none where they are the program's."""
    facts = {"language": language_name(code), "phrase": phrase.text}
    with record(verbs.WORDS_CHANGED, about=the_studio(), by=by, **facts) as step:
        rows = PaperPhrase.objects.filter(code=code, phrase=phrase.text).exclude(form=NAME)
        step.keep(rows)
        by_program = brought(code)
        own = {
            form: text
            for form, text in texts.items()
            if text and text != by_program.get((phrase.text, form))
        }
        rows.exclude(form__in=own).delete()
        for form, text in own.items():
            PaperPhrase.objects.update_or_create(
                code=code, phrase=phrase.text, form=form, defaults={"text": text}
            )
        if code == ENGLISH:
            studio = Profile.objects.select_for_update().get()
            step.keep(studio)
            own_rows = PaperPhrase.objects.filter(code=code).exclude(form=NAME)
            studio.own_english = own_rows.exists()
            studio.save(update_fields=["own_english"])
    return step.entry


def save_names(*, code: str, names: Mapping[str, str], by: User) -> Entry | None:
    """How the owner's own names, such as those of operations, are said in a language; where that is
    empty, as they were typed. Those that are not among ``names`` stay."""
    language = language_name(code)
    with record(verbs.NAMES_SAID, about=the_studio(), by=by, language=language) as step:
        rows = PaperPhrase.objects.filter(code=code, form=NAME, phrase__in=names)
        step.keep(rows)
        rows.filter(phrase__in=[name for name, text in names.items() if not text]).delete()
        for name, text in names.items():
            if text:
                PaperPhrase.objects.update_or_create(
                    code=code, phrase=name, form=NAME, defaults={"text": text}
                )
    return step.entry


def check_language(*, code: str, by: User) -> Entry | None:
    """The owner has read all words of a language, today."""
    name = language_name(code)
    with record(verbs.WORDS_CHECKED, about=the_studio(), by=by, language=name) as step:
        step.keep(PaperLanguage.objects.filter(code=code))
        PaperLanguage.objects.update_or_create(code=code, defaults={"checked_on": clock.today()})
    return step.entry
