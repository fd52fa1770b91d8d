"""Take a payment, give money back, reverse a wrong entry, print a receipt."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.views.decorators.http import require_http_methods

from jobs.billing import actions, queries
from jobs.billing.forms import PaymentForm, ReasonForm, RefundForm
from jobs.billing.models import Payment
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_or_404
from studio.shop.forms import OnceForm
from studio.shop.http import StudioRequest, owner_only


@owner_only
@require_http_methods(["GET", "POST"])
def take(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    initial = {"amount": max(queries.balance(ticket), 0)}
    form = PaymentForm(request.POST or None, studio=request.studio, initial=initial)

    def book() -> Payment:
        facts = form.cleaned_data
        return actions.record_payment(
            ticket=ticket, by=request.user, studio=request.studio,
            kind=queries.usual_kind(ticket, facts["amount"]), **facts,
        )  # fmt: skip

    return _booked(request, ticket, form, book, "Take a payment")


@owner_only
@require_http_methods(["GET", "POST"])
def give_back(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    initial = {"amount": max(-queries.balance(ticket), 0) or None}
    form = RefundForm(request.POST or None, studio=request.studio, initial=initial)

    def book() -> Payment:
        facts = form.cleaned_data
        return actions.refund(
            ticket=ticket, by=request.user, studio=request.studio, why=facts.pop("note"), **facts
        )

    return _booked(request, ticket, form, book, "Give money back")


@owner_only
@require_http_methods(["GET", "POST"])
def reverse_entry(request: StudioRequest, number: str, receipt: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    payment = get_object_or_404(ticket.payments, number=receipt.upper())
    form = ReasonForm(request.POST or None, studio=request.studio)

    def book() -> Payment:
        return actions.reverse_payment(
            payment=payment, by=request.user, studio=request.studio, **form.cleaned_data
        )

    title = f"Reverse {payment.number}"
    return _booked(request, ticket, form, book, title, payment=payment)


def booked_message(payment: Payment) -> str:
    """What the next page says, with the way to the receipt."""
    return format_html(
        '{} booked. <a href="{}">Receipt {}</a>',
        payment.get_kind_display(),
        reverse("receipt", args=[payment.number]),
        payment.number,
    )


def _booked(
    request: StudioRequest,
    ticket: Ticket,
    form: OnceForm,
    book: Callable[[], Payment],
    title: str,
    **context: Any,
) -> HttpResponse:
    """Book what a valid form says and go to the ticket; else the form again, with what is wrong."""
    if form.is_valid():
        try:
            payment = book()
        except actions.BillingError as wrong:
            form.add_error("amount" if "amount" in form.fields else None, str(wrong))
        else:
            messages.success(request, booked_message(payment))
            return redirect(ticket)
    context |= {"ticket": ticket, "form": form, "title": title, "balance": queries.balance(ticket)}
    return render(request, "billing/payment.html", context)
