"""The page on which a client comes to owe the tax of a ticket, or it is charged as usual again.

It stands for a ticket of a client with a VAT number of another country, while nothing is invoiced
or paid. Which tax it is the owner's taxes say: an exempt one whose sentence is *Reverse charge*
(``points.client_owes``). The first time one is made. Whether it applies local rules decide.
"""

from dataclasses import dataclass
from typing import cast

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from jobs.billing.actions import BillingError, agree_tax, no_reverse_charge, stands_on_tax
from jobs.billing.points import client_owes
from jobs.billing.queries import owes_tax
from jobs.pricing.quote import Quote, QuoteError, TaxMode
from jobs.tickets.actions import TicketError
from jobs.tickets.actions.agree import draft_of
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_or_404
from jobs.tickets.quoting import quote_lines, under_tax
from jobs.tickets.views import say_step
from studio.shop import clock
from studio.shop.actions import NamedRate, add_tax
from studio.shop.forms import Chips
from studio.shop.http import StudioRequest, go_back, owner_only
from studio.shop.models import TaxClass, TaxError, TaxFacts, User
from studio.shop.money import format_money

NAME = "Reverse charge"
AS_AGREED, TAX_OUT = "agreed", "out"


class TaxForm(forms.Form):
    """``version`` is the ticket's, whose sums the page shows."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    tax = forms.ChoiceField(required=False, widget=Chips)
    prices = forms.ChoiceField(required=False, widget=Chips)

    def offer(self, **choices: list[tuple[str, str]]) -> None:
        for name, offered in choices.items():
            cast("forms.ChoiceField", self.fields[name]).choices = offered


def taxes_owed() -> list[TaxClass]:
    """Those of the owner's taxes that the client owes."""
    exempt = TaxClass.objects.filter(exempt=True)
    return [tax for tax in exempt if client_owes({"exempt": True, "sentence": tax.sentence})]


def _facts(tax: TaxClass) -> TaxFacts:
    return {"name": tax.name, "percent": "0", "exempt": True, "sentence": tax.sentence}


def _chosen(taxes: list[TaxClass], pk: str, by: User) -> TaxFacts:
    tax = next((tax for tax in taxes if str(tax.pk) == pk), None)
    return _facts(tax or (taxes[0] if taxes else _first_tax(by)))


def _first_tax(by: User) -> TaxClass:
    """The tax of that name, made. Raises BillingError where one of that name is another."""
    if TaxClass.objects.filter(name=NAME).exists():
        raise BillingError(
            f"Your tax “{NAME}” is another. Make it exempt, with “{NAME}” as its sentence."
        )
    rate = NamedRate(name=NAME, percent=None, exempt=True, sentence=NAME, valid_from=clock.today())
    return add_tax(tax=rate, by=by)


@owner_only
@require_http_methods(["GET", "POST"])
def reverse_charge(request: StudioRequest, number: str) -> HttpResponse:
    ticket, studio = ticket_or_404(number), request.studio
    is_owed, taxes = owes_tax(draft_of(ticket)) is not None, taxes_owed()
    form = TaxForm(request.POST or None, initial={"version": ticket.version, "prices": AS_AGREED})
    totals = [] if is_owed else _totals(ticket)
    form.offer(
        tax=[(str(tax.pk), tax.name) for tax in taxes],
        prices=[
            (key, f"{name}: {format_money(quote.gross, ticket.currency, studio.locale)}")
            for key, name, quote in totals
        ],
    )
    if request.method == "POST" and form.is_valid():
        answers = form.cleaned_data
        try:
            agree_tax(
                ticket=ticket,
                owed=None if is_owed else _chosen(taxes, answers["tax"], request.user),
                tax_out=answers["prices"] == TAX_OUT,
                version=answers["version"], by=request.user, studio=studio,
            )  # fmt: skip
        except (BillingError, TicketError, TaxError, QuoteError) as wrong:
            form.add_error(None, str(wrong))
        else:
            words = "charges its tax as usual" if is_owed else "is under reverse charge"
            money = f"{ticket.get_absolute_url()}#money"
            say_step(request, ticket, f"Ticket {ticket.number} {words}.", back=money)
            return go_back(request, money)
    blocked = stands_on_tax(ticket) or ("" if is_owed else no_reverse_charge(ticket, studio))
    context = {"ticket": ticket, "form": form, "is_owed": is_owed, "blocked": blocked,
               "several": len(taxes) > 1 and not is_owed, "choices": len(totals) > 1,
               "rounded": _rounded(ticket, totals)}  # fmt: skip
    return render(request, "billing/reverse_charge.html", context)


@dataclass(frozen=True)
class RoundedOtherwise:
    """Why the prices without the tax inside come to another sum than *Money* shows without tax:
    there the tax is taken out of the total, here out of each price, which then is rounded to the
    ``step`` of the price list (minor units; 0 where that is one)."""

    net: int
    step: int


def _rounded(ticket: Ticket, totals: list[tuple[str, str, Quote]]) -> RoundedOtherwise | None:
    out = next((quote for key, _, quote in totals if key == TAX_OUT), None)
    if out is None or out.gross == ticket.net:
        return None
    step = ticket.terms["rounding_step"]
    return RoundedOtherwise(ticket.net, step if step > 1 else 0)


def _totals(ticket: Ticket) -> list[tuple[str, str, Quote]]:
    """What the client would pay, with prices as they are and without the tax that is in them."""
    owed: TaxFacts = {"name": NAME, "percent": "0", "exempt": True, "sentence": NAME}
    ways = [(AS_AGREED, "Prices as agreed")]
    if ticket.terms["tax_mode"] == TaxMode.INCLUDED:
        ways.append((TAX_OUT, "Without the tax inside"))
    totals = []
    for key, name in ways:
        taxes = {"worn": owed, "new": owed}
        draft = under_tax(draft_of(ticket), taxes, tax_out=key == TAX_OUT)
        totals.append((key, name, quote_lines(draft, draft.lines, ticket.terms)))
    return totals
