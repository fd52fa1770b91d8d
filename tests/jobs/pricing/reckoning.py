"""A quote reckoned a second way, to hold against ``jobs.pricing.quote``.

It shares no code and no method with the program: each price is one product in the standard
library's decimal module, rounded by its ROUND_HALF_UP (General Decimal Arithmetic, round-half-up),
the tax inside a price is the gross less the gross divided by the factor, and left-over units are
dealt out one at a time to whoever lacks most.
"""

from decimal import ROUND_CEILING, ROUND_HALF_UP, Context, Decimal, localcontext

ROOM = Context(prec=80)


def nearest(value: Decimal) -> int:
    return int(Decimal(value).quantize(Decimal(1), ROUND_HALF_UP))


def reckon(items, terms) -> dict:
    """Prices and taxes of all lines (a minimum charge last) and the totals, in minor units."""
    with localcontext(ROOM):
        prices = [price(item, terms) for item in items]
        taxes_of = [item.tax if terms.tax_mode != "none" else None for item in items]
        labels = [(item.name, item.tax.name if item.tax else "", item.key) for item in items]
        if 0 < sum(prices) < terms.minimum_charge:
            taxes_of.append(dearest(prices, taxes_of))
            labels.append(("minimum charge", taxes_of[-1].name if taxes_of[-1] else "", ""))
            prices.append(terms.minimum_charge - sum(prices))
        parts = deal(terms.discount_amount, prices, labels)
        prices = [price - part for price, part in zip(prices, parts, strict=True)]
        taxes = [0] * len(prices)
        for tax in {tax for tax in taxes_of if tax}:
            members = [i for i, other in enumerate(taxes_of) if other == tax]
            amount = tax_of(sum(prices[i] for i in members), tax, terms.tax_mode)
            dealt = deal(amount, [prices[i] for i in members], [labels[i] for i in members])
            for i, part in zip(members, dealt, strict=True):
                taxes[i] = part
        gross = sum(prices) + (sum(taxes) if terms.tax_mode == "added" else 0)
        asked = terms.deposit_amount
        if asked is None:
            asked = nearest(gross * terms.deposit_percent / 100)
        return {
            "prices": prices,
            "taxes": taxes,
            "net": gross - sum(taxes),
            "tax": sum(taxes),
            "gross": gross,
            "deposit": min(asked, gross),
            "minutes": sum(minutes(item) for item in items),
        }


def price(item, terms) -> int:
    factor = 1 + sum(extra.percent for extra in item.surcharges) / Decimal(100)
    each = item.unit_price * factor + sum(extra.amount for extra in item.surcharges)
    rushed = each * item.quantity * (100 + terms.rush_percent) / 100
    kept = rushed * (100 - terms.discount_percent) / 100
    return nearest(kept / terms.rounding_step) * terms.rounding_step


def minutes(item) -> int:
    factor = 1 + sum(extra.minutes_percent for extra in item.surcharges) / Decimal(100)
    each = item.minutes * factor + sum(extra.minutes for extra in item.surcharges)
    return int((each * item.quantity).to_integral_value(ROUND_CEILING))


def dearest(prices, taxes_of):
    sums = {
        tax: sum(price for price, other in zip(prices, taxes_of, strict=True) if other == tax)
        for tax in taxes_of
        if tax
    }
    return next(
        (tax for tax in sorted(sums, key=lambda tax: tax.name) if sums[tax] == max(sums.values())),
        None,
    )


def tax_of(total: int, tax, mode: str) -> int:
    factor = Decimal(1) if tax.exempt else 1 + tax.percent / Decimal(100)
    return nearest(total * factor - total) if mode == "added" else nearest(total - total / factor)


def deal(total: int, weights: list[int], labels: list) -> list[int]:
    """Whole units of the exact shares, then one at a time to whoever lacks most."""
    if not sum(weights):
        return [0] * len(weights)
    # The shares are compared as numerators over the common denominator sum(weights).
    parts = [total * weight // sum(weights) for weight in weights]
    while sum(parts) < total:
        lacking = [
            total * weight - part * sum(weights)
            for weight, part in zip(weights, parts, strict=True)
        ]
        claims = [
            i for i in range(len(parts)) if (lacking[i], weights[i])
            == max(zip(lacking, weights, strict=True))
        ]  # fmt: skip
        parts[min(claims, key=lambda i: labels[i])] += 1
    return parts
