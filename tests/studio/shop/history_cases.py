"""What is done to the studio itself, for ``tests/test_history.py``."""

from datetime import date, time, timedelta
from decimal import Decimal

from studio.shop import actions, clock, verbs
from studio.shop.doors import actions as doors
from studio.shop.messages import mail
from studio.shop.models import DayOff, Profile, TaxRate, User, WorkingDay
from studio.shop.words import actions as words
from studio.shop.words import phrases
from tests.factories import CodeAppFactory, PasskeyFactory, TaxClassFactory, UserFactory
from tests.history_cases import case

NAMED = {"exempt": False, "sentence": ""}


@case(verbs.SET_UP)
def _set_up(house):
    facts = {
        field.attname: getattr(house.studio, field.attname)
        for field in Profile._meta.concrete_fields
        if field.name not in {"id", "worn_tax", "new_tax"}
    }
    Profile.objects.all().delete()
    yield
    actions.set_up(
        profile=facts, tax=None, week=[], username="first", password="!",
    )  # fmt: skip


@case(verbs.PROFILE_CHANGED)
def _moved_to_another_town(house):
    yield
    studio = Profile.objects.get()
    studio.city, studio.phone, studio.pay_days = "Elsewhere", "01 555 0199", 21
    studio.name = "not asked for"
    actions.save_profile(studio=studio, fields=["city", "phone", "pay_days"], by=house.owner)


@case(verbs.LANGUAGE_ADDED)
def _language(house):
    yield
    words.add_language(code="ar", by=house.owner)


@case(verbs.WORDS_CHANGED)
def _phrase(house):
    pieces = phrases()["{count} piece"]
    texts = {"one": "{count} kawałek", "few": "{count} kawałki"}
    words.change_phrase(code="pl", phrase=pieces, texts=texts, by=house.owner)
    yield
    texts = {"one": "jeden kawałek", "many": "{count} kawałków"}
    words.change_phrase(code="pl", phrase=pieces, texts=texts, by=house.owner)


@case(verbs.NAMES_SAID)
def _names_said(house):
    words.save_names(code="pl", names={"Hem": "Podwinięcie", "Zip": "Zamek"}, by=house.owner)
    yield
    words.save_names(code="pl", names={"Hem": "Skrócenie", "Zip": ""}, by=house.owner)


@case(verbs.WORDS_CHECKED)
def _checked(house):
    yield
    words.check_language(code="pl", by=house.owner)


@case(verbs.WEEK_CHANGED)
def _week(house):
    WorkingDay.objects.update_or_create(weekday=0, defaults={"minutes": 480})
    WorkingDay.objects.filter(weekday=5).delete()
    yield
    days = [actions.BenchDay(0, time(10), 300), actions.BenchDay(5, time(9), 120)]
    actions.save_week(days=days, by=house.owner)


@case(verbs.CLOSED)
def _days_off(house):
    first = clock.today() + timedelta(days=3)
    DayOff.objects.create(day=first, reason="closed already")
    yield
    last = first + timedelta(days=2)
    actions.add_days_off(first=first, last=last, reason="fair", by=house.owner)


@case(verbs.CLOSED_ON_HOLIDAYS)
def _holidays(house):
    yield
    assert actions.add_public_holidays(country="IE", year=2027, by=house.owner)


@case(verbs.OPENED)
def _open_again(house):
    day_off = DayOff.objects.create(day=clock.today() + timedelta(days=3), reason="fair")
    yield
    actions.remove_day_off(day_off=day_off, by=house.owner)


@case(verbs.TAX_ADDED)
def _tax(house):
    yield
    rate = actions.NamedRate("Lace", Decimal("9.5"), valid_from=clock.today(), **NAMED)
    actions.add_tax(tax=rate, by=house.owner)


@case(verbs.TAX_CHANGED)
def _tax_named_anew(house):
    tax = TaxClassFactory(name="Lace")
    yield
    tax.name = "Lace and trim"
    actions.save_tax(tax_class=tax, by=house.owner)


@case(verbs.TAX_REMOVED)
def _tax_removed(house):
    tax = TaxClassFactory(name="Lace")
    TaxRate.objects.create(tax_class=tax, percent=Decimal(9))
    yield
    actions.remove_tax_class(tax_class=tax, by=house.owner)
    assert not TaxRate.objects.filter(tax_class=tax).exists()


@case(verbs.RATE_ADDED)
def _rate(house):
    tax = TaxClassFactory(name="Lace")
    yield
    actions.add_rate(tax_class=tax, percent=Decimal(9), valid_from=date(2020, 1, 1), by=house.owner)


@case(verbs.RATE_REMOVED)
def _rate_removed(house):
    tax = TaxClassFactory(name="Lace")
    rate = TaxRate.objects.create(tax_class=tax, percent=Decimal(9), valid_from=clock.today())
    yield
    actions.remove_rate(rate=rate, by=house.owner)


@case(verbs.MAIL_SET)
def _mail(house):
    yield
    actions.set_mail(
        server=mail.MailServer(host="smtp.example.org", sender="room@example.org"), by=house.owner
    )
    mail.save(mail.MailServer())


@case(verbs.MAIL_OFF)
def _no_mail(house):
    actions.set_mail(
        server=mail.MailServer(host="smtp.example.org", sender="room@example.org"), by=house.owner
    )
    yield
    actions.set_mail(server=mail.MailServer(), by=house.owner)


@case(verbs.LOGIN_ADDED)
def _login(house):
    yield
    actions.add_person(
        username="bea", first_name="Bea", password="a long sentence of hems",
        role=User.Role.HELPER, by=house.owner,
    )  # fmt: skip


@case(verbs.TICKS_SET)
def _ticks(house):
    person = UserFactory(role=User.Role.HELPER)
    yield
    actions.set_ticks(person=person, ticks=["health", "drawer"], by=house.owner)


@case(verbs.LOGIN_STOPPED)
def _login_stopped(house):
    person = UserFactory()
    yield
    actions.show_out(person=person, by=house.owner)


@case(verbs.LOGIN_RESUMED)
def _login_resumed(house):
    person = UserFactory(is_active=False)
    yield
    actions.let_back(person=person, by=house.owner)


@case(verbs.PASSWORD_CHANGED)
def _password(house):
    person = UserFactory()
    yield
    actions.set_password(person=person, password="another long sentence", by=house.owner)


@case(verbs.FACTOR_ADDED)
def _second_factor(house):
    yield
    assert doors.add_app(user=house.owner, secret="JBSWY3DP", step=1)


@case(verbs.FACTOR_REMOVED)
def _second_factor_removed(house):
    app = CodeAppFactory()
    yield
    assert doors.remove_second_factor(person=app.user, by=house.owner)


@case(verbs.CODES_MADE)
def _recovery_codes(house):
    yield
    assert doors.make_codes(user=house.owner)


@case(verbs.CODE_USED)
def _recovery_code_used(house):
    code = doors.make_codes(user=house.owner)[0]
    yield
    doors.use_code(user=house.owner, code=code)


@case(verbs.PASSKEY_DOUBTED)
def _passkey_doubted(house):
    passkey = PasskeyFactory(user=house.owner)
    yield
    doors.doubt_passkey(passkey=passkey)
