"""Tickets through the drop-off page, each figure reckoned again in exact fractions.

The reckoning here shares nothing with the program. Tax inside a price is the VAT fraction of the
gross, rate / (100 + rate), and tax on a price rate / 100 of it, once for each rate of the whole
document (Directive 2006/112/EC, Articles 73, 78 and 226); halves go up. What a discount in money
takes off each rate follows largest remainders (Hamilton's method for seats, 1792).
"""

import csv
import io
import re
from collections import defaultdict
from decimal import Decimal
from fractions import Fraction
from html import unescape

import pytest
from babel.numbers import get_currency_precision

from jobs.pricing.models import Operation, PriceRules
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.models import Profile, TaxClass, TaxRate
from tests import factories as f
from tests.jobs.counter.html_form import Counter, HtmlForm
from tests.jobs.planning.core.books import dice
from tests.papers import text
from tests.thorough import rounds

EACH = rounds(3, 6)
LEDGER = ["number", "without tax", "tax amount", "total", "paid"]
MONEY = r"[^\d\s]{1,4}\s?(\d[\d.,]*)"
# Currency and country; tax, worn and new (a percentage, or None where it is exempt); rounding step,
# least charge, rush and deposit in percent. Rates are there to differ: no law is quoted.
RULES = [
    ("EUR", "IE", "included", "13.5", "23", 1, 0, "25", "0"),
    ("EUR", "IE", "included", "23", "23", 50, 1500, "20", "30"),
    ("EUR", "IE", "added", "9", "21", 5, 0, "33.333", "25"),
    ("EUR", "IE", "none", "0", "0", 10, 0, "50", "12.5"),
    ("USD", "US", "added", None, "8.875", 1, 2000, "25", "50"),
    ("GBP", "GB", "included", "20", "0", 25, 0, "15", "0"),
    ("JPY", "JP", "included", "10", "8", 10, 500, "30", "33.333"),
    ("JPY", "JP", "added", "10", "10", 1, 0, "25", "0"),
    ("KWD", "KW", "none", "0", "0", 50, 0, "25", "10"),
    ("KWD", "KW", "included", "5", None, 1, 3000, "12.5", "40"),
]
EXTRAS = [("Lined", "30", 0), ("Beads", "12.5", 0), ("Velvet", "0", 177), ("Silk", "33.333", 45)]


def half_up(value, step=1):
    return int((Fraction(value) / step + Fraction(1, 2)) // 1) * step


def shared(total, weights):
    """By largest remainder: the whole units, then one each where most is lacking."""
    if not sum(weights):
        return [0] * len(weights)
    parts = [total * weight // sum(weights) for weight in weights]
    lacking = sorted(range(len(parts)), key=lambda i: total * weights[i] % sum(weights))
    for place in lacking[::-1][: total - sum(parts)]:
        parts[place] += 1
    return parts


def reckon(lines, rule, rush, off_percent, off_amount):
    """Total, and what each rate comes to as (without tax, tax), in minor units."""
    _, _, mode, worn, new, step, least, rushed, _ = rule
    prices, rates = [], []
    for unit, pieces, extras, is_new in lines:
        each = unit * (1 + sum(Fraction(percent) for _, percent, _ in extras) / 100)
        price = (each + sum(amount for _, _, amount in extras)) * pieces
        price *= (1 + Fraction(rushed) / 100 if rush else 1) * (1 - Fraction(off_percent) / 100)
        prices.append(half_up(price, step))
        rates.append((new if is_new else worn, "New" if is_new else "Worn"))
    if 0 < sum(prices) < least:
        sums = defaultdict(int)
        for price, rate in zip(prices, rates, strict=True):
            sums[rate] += price
        prices.append(least - sum(prices))
        rates.append(min(sums, key=lambda rate: (-sums[rate], rate[1])))
    prices = [p - part for p, part in zip(prices, shared(off_amount, prices), strict=True)]
    by_rate, total = {}, 0
    for rate in set(rates):
        price = sum(p for p, other in zip(prices, rates, strict=True) if other == rate)
        percent = Fraction(rate[0] or 0)
        tax = {
            "none": 0,
            "added": half_up(price * percent / 100),
            "included": half_up(price * percent / (100 + percent)),
        }[mode]
        by_rate[rate] = (price - tax if mode == "included" else price, tax)
        total += sum(by_rate[rate])
    return total, sorted(by_rate.values()) if mode != "none" else []


@pytest.fixture
def list_of_prices(studio):
    """Twelve operations with awkward prices on three kinds; surcharges that are awkward, too."""
    f.PlanRulesFactory(own_percent=100)  # so that today is earlier than the honest day, for a rush
    rng = dice(0)
    for kind in (f.GarmentKindFactory(name=name) for name in ("Trousers", "Dress", "Coat")):
        for number in range(4):
            f.OperationFactory(
                garment_kind=kind, name=f"Work {number}", price=rng.randrange(150, 9000),
                minutes=5, takes_amount=False,
            )  # fmt: skip
    for name, percent, amount in EXTRAS:
        f.SurchargeFactory(name=name, percent=percent, amount=amount, minutes_percent=0)


def set_rules(rule):
    currency, country, mode, worn, new, step, least, rushed, deposit = rule
    classes = {}
    TaxRate.objects.all().delete()
    for name, percent in (("Worn", worn), ("New", new)):
        classes[name], _ = TaxClass.objects.update_or_create(
            name=name, defaults={"exempt": percent is None, "sentence": "No tax here."}
        )
        TaxRate.objects.create(tax_class=classes[name], percent=percent or "0")
    Profile.objects.update(
        currency=currency, country=country, tax_mode=mode, worn_tax=classes["Worn"],
        new_tax=classes["New"], invoice_sentence="No tax is charged.",
    )  # fmt: skip
    PriceRules.objects.update_or_create(
        pk=1,
        defaults={
            "minimum_charge": least, "rounding_step": step, "rush_percent": rushed,
            "deposit_percent": deposit,
        },
    )  # fmt: skip


def minor(shown, currency):
    """``1,234.50`` in minor units: all locales here write a comma between thousands."""
    places = get_currency_precision(currency)
    assert len(shown.rstrip(".,").rpartition(".")[2]) == places or not places, shown
    return int(re.sub(r"\D", "", shown))


def typed(amount, currency):
    return str(Decimal(amount).scaleb(-get_currency_precision(currency)))


def plain_words(page):
    """Without mark-up, all of which is a space."""
    words = page.decode() if isinstance(page, bytes) else page
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", words)).split())


def figure(words, label, currency):
    """The figure behind a label."""
    plain = plain_words(words)
    hit = re.search(rf"(?<!\w){label} {MONEY}" if label else MONEY, plain)
    assert hit, f"No {label} in {plain[-1500:]}"
    return minor(hit[1], currency)


def of_rates(words, currency):
    """What each rate comes to on a paper: ``on`` so much, so much."""
    pairs = re.findall(rf"on {MONEY} {MONEY}", words)
    return sorted((minor(net, currency), minor(tax, currency)) for net, tax in pairs)


def bring(client, rng, rule, by_buttons):
    """One ticket through the page; how it was saved, and what it has to come to.

    Its rows come by their buttons, or with all that is typed into them in one go.
    """
    currency, lines = rule[0], []
    counter = Counter(client, "/drop-off/?new=Ann 0865550143")
    garments = rng.choice([1, 1, 2])
    works = list(Operation.objects.select_related("garment_kind"))
    for garment in range(garments):
        kind = rng.choice(works).garment_kind
        is_new = rng.random() < 0.4
        worn = {f"g{garment}-worn": "new" if is_new else "worn"}
        if by_buttons:
            counter.press(f"add-garment:{kind.pk}")
            counter.type(**worn)
        else:
            counter.form.fields |= {f"g{garment}-kind": kind.pk, **worn}
        offered = [work for work in works if work.garment_kind == kind]
        for place, work in enumerate(rng.sample(offered, rng.choice([1, 2, 3]))):
            extras = rng.sample(EXTRAS, rng.choice([0, 0, 1, 2]))
            unit, pieces = work.price, rng.choice([1, 1, 1, 2, 3, 7])
            row = {"quantity": pieces, "surcharges": [name for name, _, _ in extras]}
            if rng.random() < 0.3:
                unit = rng.randrange(1, 30000)
                row["price"] = typed(unit, currency)
            entry = f"g{garment}-l{place}-"
            typed_here = {entry + name: value for name, value in row.items()}
            if by_buttons:
                counter.press(f"add-line:{garment}:{work.pk}")
                counter.type(**typed_here)
            else:
                counter.form.fields |= {f"{entry}operation": work.pk, **typed_here}
            lines.append((unit, pieces, extras, is_new))
    rush, off = rng.random() < 0.3, rng.choice(["", "", "percent", "amount"])
    off_percent = rng.choice(["5", "12.5", "33.333"]) if off == "percent" else "0"
    undiscounted, _ = reckon(lines, rule, rush, "0", 0)
    off_amount = rng.randrange(1, max(2, undiscounted // 3)) if off == "amount" else 0
    total, rates = reckon(lines, rule, rush, off_percent, off_amount)
    if rush:
        # The last minute of today is still to come at any hour.
        day = clock.today().isoformat()
        counter.type(rush="on", promise_day=day, promise_time="23:59")
    if off:
        counter.type(**{f"discount_{off}": off_percent if off == "percent"
                        else typed(off_amount, currency)})  # fmt: skip
    asked = half_up(total * Fraction(rule[8]) / 100)
    if rng.random() < 0.4:
        asked = rng.randrange(1, 4000)
        counter.type(deposit=typed(asked, currency))
    asked = min(asked, total)
    paid = rng.choice([0, asked, total])
    if paid:
        counter.type(paid=typed(paid, currency), method=rng.choice(["cash", "card"]))
    counter.press("enter")
    preview = figure(re.search(r'id="bar".*?</b>', counter.text, re.DOTALL)[0], "",
                     currency)  # fmt: skip
    counter.press("save")
    assert counter.response.status_code == 302, re.findall(r"errorlist.*?</ul>", counter.text)
    return counter.response.url.partition("saved/")[0], preview, (total, rates, asked, paid)


@pytest.mark.parametrize("place", range(len(RULES)))
def test_tickets_come_to_the_same_everywhere(list_of_prices, owner_client, place, press):
    rule, rng = RULES[place], dice(place)
    currency = rule[0]
    set_rules(rule)
    invoiced = {}
    taken = 0
    for brought in range(EACH):
        # One of each set of rules is brought button by button, the others are sent at once. One of
        # each currency is read off its pages, the others as they go to the press.
        press.proofs = brought > 0 or currency in {rule[0] for rule in RULES[:place]}
        words_on = plain_words if press.proofs else text
        address, preview, (total, rates, asked, paid) = bring(
            owner_client, rng, rule, by_buttons=brought == 0
        )
        net, tax = total - sum(tax for _, tax in rates), sum(tax for _, tax in rates)
        taken += paid
        page = owner_client.get(address).text
        card = page[page.index('id="money"') :]
        assert preview == total
        assert figure(card, "Total", currency) == total
        assert figure(card, "Paid", currency) == paid
        assert figure(card, "To pay", currency) == total - paid
        if tax:
            assert figure(card, "Without tax", currency) == net
            assert figure(card, "Tax", currency) == tax
        number = Ticket.objects.latest("pk").number
        claim = words_on(owner_client.get(f"/t/{number}/claim.pdf").content)
        assert figure(claim, "Total", currency) == total
        assert figure(claim, "To pay", currency) == total - paid
        # The client's part and the studio's.
        assert of_rates(claim, currency) == sorted(rates * 2)
        if asked:
            assert figure(claim, "Deposit asked", currency) == asked
        if paid:
            assert figure(claim, r"Paid [\w, ]+, \w+, R\S+", currency) == paid
        issue = f"/t/{number}/invoice/"
        form = HtmlForm(page.replace(f'action="{issue}"', f'action="{issue}" id="issue"'), "issue")
        # Outside the Union the studio may issue what lacks a VAT number of the country's form.
        bill = owner_client.post(issue, {**form.fields, "anyway": "yes"}).url
        paper = words_on(owner_client.get(f"{bill}paper/").content)
        assert figure(paper, "Total", currency) == total
        assert figure(paper, "To pay", currency) == total - paid
        assert of_rates(paper, currency) == rates
        invoiced[bill.rstrip("/").rpartition("/")[2]] = (net, tax, total)
    today = clock.today().isoformat()
    _ledger(owner_client.get(f"/money/ledger.csv?from={today}&to={today}"), currency, invoiced,
            taken)  # fmt: skip
    day_end = owner_client.get(f"/money/day-end/?day={today}").text
    everything = re.findall(r'data-label="Total".*?</td>', day_end)[-1]
    assert figure(everything.partition(">")[2], "", currency) == taken


def _ledger(file, currency, invoiced, taken):
    sums, paid = defaultdict(lambda: [0, 0, 0]), 0
    scale = 10 ** get_currency_precision(currency)
    for row in csv.DictReader(io.StringIO(file.content.decode("utf-8-sig"))):
        number, *figures = (row[name] for name in LEDGER)
        net, tax, gross, here = (int(Fraction(cell or 0) * scale) for cell in figures)
        paid += here
        if number in invoiced:
            sums[number] = [a + b for a, b in zip(sums[number], (net, tax, gross), strict=True)]
    assert {number: tuple(row) for number, row in sums.items()} == invoiced
    assert paid == taken
