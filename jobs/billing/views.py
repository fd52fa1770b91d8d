"""The money room: its lists and sums, invoices and payments, and their papers."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Exists, QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.http import urlencode
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_safe,
)

from jobs.billing import actions, books, cash, charts, documents, forms, queries, tables
from jobs.billing.models import Invoice, Payment
from jobs.billing.points import (
    InvoicePoint,
    doubt_of_vat_number,
    is_strict,
    shown_tax,
    tax_number_of,
    usual_limit,
    vat_number_of,
)
from jobs.tickets.messages import about_ready
from jobs.tickets.models import State, Ticket
from jobs.tickets.queries import ticket_or_404, voided_on
from studio.shop import clock
from studio.shop.actions import save_profile
from studio.shop.doors.logins import fresh_password_for_file
from studio.shop.forms import TOO_OLD, OnceForm
from studio.shop.http import StudioRequest, absolute, go_back, owner_only, say, ticked
from studio.shop.locales import show_day
from studio.shop.may import Tick
from studio.shop.models import Entry, Profile, User
from studio.shop.money import decimals, format_money
from studio.shop.paper import serve_paper
from studio.shop.tables import StudioTable, show_page
from studio.shop.together import OpenCard, edit_card
from studio.shop.words import Words


@owner_only
@require_GET
def money(request: StudioRequest) -> HttpResponse:
    """A month, this one unless ``month`` names another, and what is to be paid today."""
    today = clock.today()
    first = forms.MonthForm(request.GET).first()
    after = (first + timedelta(days=31)).replace(day=1)
    last = min(after - timedelta(days=1), today)
    month, unpaid = queries.taken_between(first, last), queries.open_money()
    return render(
        request,
        "billing/money.html",
        {
            "first": first,
            "earlier": (first - timedelta(days=1)).replace(day=1),
            "later": after if after <= today else None,
            "today": queries.taken_on(today),
            "month": month,
            "chart": charts.month_chart(month, first, request.studio),
            "gone": books.handed_over_between(first, last),
            "invoiced": queries.invoiced_between(first, last),
            "open": unpaid,
            "to_pay": charts.to_pay_bar(unpaid, request.studio),
            "unpaid": queries.unpaid_at_home(),
            "waiting": queries.waiting_by_age(),
            "span": forms.SpanForm(initial={"from": first, "to": last}),
        },
    )


@ticked(Tick.DRAWER)
@require_http_methods(["GET", "POST"])
def day_end(request: StudioRequest) -> HttpResponse:
    """What a day took; and for today the cash box, or a helper's drawer, which is counted.

    A helper has her own drawer here and nothing else; the owner counts one that is named.
    """
    drawer = _drawer_asked(request)
    form = forms.DayEndForm({} if drawer else request.GET)
    day = form.cleaned_data["day"] if form.is_valid() else None
    context: dict[str, Any] = {"form": form, "day": day, "drawer": drawer}
    if day == clock.today():
        box = cash.cash_box(drawer)
        count = forms.CountForm(request.POST or None, studio=request.studio, drawer=bool(drawer))
        if closed := _closed(request, box, count, drawer):
            done = "Drawer counted" if drawer else "Day closed"
            messages.success(request, f"{done}. The next begins with {closed}.")
            return redirect("day-end")
        context |= {"box": box, "count": count}
    elif request.method == "POST":
        return redirect("day-end")
    if day:
        counted = cash.counted_on(day)
        context["counted"] = [one for one in counted if one.count.drawer_of == drawer]
        if not drawer:
            takings = queries.taken_on(day)
            context |= {"takings": takings, "void": voided_on(day)}
            context["drawers"] = cash.drawers_of(takings.drawers, counted)
    return render(request, "billing/day_end.html", context)


def _drawer_asked(request: StudioRequest) -> User | None:
    if not request.user.is_owner:
        return request.user
    if not (asked := request.GET.get("drawer", "")):
        return None
    key = int(asked) if asked.isdecimal() and len(asked) < 19 else 0
    return get_object_or_404(User, pk=key, role=User.Role.HELPER)


def _closed(
    request: StudioRequest, box: cash.CashBox, form: forms.CountForm, drawer: User | None
) -> str:
    """What is in the box when the count is saved; empty where the page is to be looked at again.

    A difference is told before it is saved.
    """
    if not form.is_valid() or not form.reckon(box):
        return ""
    facts = form.cleaned_data
    try:
        count = actions.close_day(
            pieces=form.pieces, rest=facts["rest"] or 0, taken_out=facts["taken_out"] or 0,
            expected=box.should_be, why=facts["why"], by=request.user, studio=request.studio,
            form_key=facts["form_key"], drawer_of=drawer,
        )  # fmt: skip
    except actions.BillingError as wrong:
        form.add_error(None, str(wrong))
        return ""
    return format_money(count.counted, count.currency, request.studio.locale)


@owner_only
@fresh_password_for_file
@require_GET
def ledger_csv(request: StudioRequest) -> HttpResponse:
    form = forms.SpanForm(request.GET)
    if not form.is_valid():
        return render(request, "billing/ledger.html", {"form": form}, status=400)
    return tables.ledger_file(form.cleaned_data["from"], form.cleaned_data["to"])


@require_GET
def ready(request: StudioRequest) -> HttpResponse:
    """All that is ready; first, with the ways to tell their clients, what became so today."""
    untold = queries.ready_since_today().exclude(Exists(queries.told_ready()))
    asks = [about_ready(ticket, request.studio) for ticket in untold.select_related("client_page")]
    table = _waiting(request, queries.ready_tickets())
    return _list(request, "billing/ready.html", table, asks=asks)


@owner_only
@require_GET
def owing(request: StudioRequest) -> HttpResponse:
    chosen = forms.OwingFilter(request.GET, queryset=queries.owing())
    table = tables.OwingTable(chosen.qs, studio=request.studio)
    choices = [("Everything", {"which": ""})]
    choices += [(words, {"which": which}) for which, words in forms.OwingFilter.WHICH]
    context = {"chips": _chips(request, choices), "open": queries.open_money()}
    return _list(request, "billing/owing.html", table, **context)


@owner_only
@require_GET
def invoices(request: StudioRequest) -> HttpResponse:
    rows = Invoice.objects.select_related("ticket", "refers_to")
    rows = rows.prefetch_related("credits", "payments")
    chosen = forms.InvoiceFilter(request.GET, queryset=rows)
    table = tables.InvoiceTable(chosen.qs, studio=request.studio)
    return _filtered(request, table, chosen, "Invoices", [])


@owner_only
@require_GET
def payments(request: StudioRequest) -> HttpResponse:
    chosen = forms.PaymentFilter(request.GET, queryset=Payment.objects.select_related("ticket"))
    table = tables.PaymentTable(chosen.qs, studio=request.studio)
    methods = [("Every way", {"method": ""})]
    methods += [(words, {"method": method}) for method, words in Payment.Method.choices]
    return _filtered(request, table, chosen, "Payments", _chips(request, methods))


EMPTY = {
    "Invoices": "Every invoice and credit note by its number. The first is issued on a ticket, "
    "under Money.",
    "Payments": "Every payment with its receipt. The first is a deposit at drop-off, or what is "
    "paid at pick-up.",
}


@dataclass(frozen=True)
class ListChoice:
    """One choice of what a list shows: ``query`` leads there and keeps what else was chosen."""

    words: str
    query: str
    current: bool


def _filtered(
    request: StudioRequest, table: StudioTable, chosen: Any, title: str, chips: list[ListChoice]
) -> HttpResponse:
    """A list of papers by time and by what they are."""
    today = clock.today()
    month = today.replace(day=1)
    before = month - timedelta(days=1)
    spans = [
        ("Ever", None, None),
        ("This month", month, (month + timedelta(days=31)).replace(day=1) - timedelta(days=1)),
        ("Last month", before.replace(day=1), before),
        (str(today.year), today.replace(month=1, day=1), today.replace(month=12, day=31)),
    ]
    times = [
        (words, {"first": first.isoformat() if first else "", "last": str(last or "")})
        for words, first, last in spans
    ]
    context = {"filter": chosen, "title": title, "chips": chips, "about": EMPTY[title]}
    shown = _chips(request, times)
    words = _days_words(request, chosen.form.cleaned_data) if chosen.form.is_valid() else ""
    if words and not any(chip.current for chip in shown):
        shown.append(ListChoice(words, f"?{request.GET.urlencode()}", current=True))
    return _list(request, "billing/filtered.html", table, times=shown, **context)


def _days_words(request: StudioRequest, facts: dict[str, Any]) -> str:
    """The days of a list, where one end or both were given."""
    ends = {end: show_day(facts[end], request.studio.locale) for end in DAYS if facts[end]}
    if len(ends) == len(DAYS):
        return " to ".join(ends.values())
    return "".join(f"{DAYS[end]} {day}" for end, day in ends.items())


DAYS = {"first": "From", "last": "Until"}


def _chips(request: StudioRequest, choices: list[tuple[str, dict[str, str]]]) -> list[ListChoice]:
    chips = []
    for words, values in choices:
        query = request.GET.copy()
        query.pop("page", None)
        current = all(query.get(name, "") == value for name, value in values.items())
        for name, value in values.items():
            query[name] = value
            if not value:
                del query[name]
        chips.append(ListChoice(words, f"?{query.urlencode()}", current))
    return chips


def _waiting(request: StudioRequest, tickets: QuerySet[Any]) -> StudioTable:
    """Who does not see prices sees who is waited for."""
    hidden = () if request.user.may(Tick.PRICES) else ("balance",)
    return tables.WaitingTable(tickets, studio=request.studio, hide=hidden)


def _list(
    request: StudioRequest, template: str, table: StudioTable, **context: Any
) -> HttpResponse:
    show_page(table, request)
    return render(request, template, {"table": table} | context)


@owner_only
@require_http_methods(["GET", "POST"])
def issue(request: StudioRequest, number: str) -> HttpResponse:
    """Issue an invoice. By GET what is missing for it: *Save* at each of its fields leads here."""
    ticket = ticket_or_404(number)
    if request.method == "GET":
        if (standing := queries.open_invoice(ticket)) or ticket.state == State.CANCELLED:
            return redirect(standing or ticket)
        points = actions.missing_now(ticket, request.studio)
        return _incomplete(request, ticket, OnceForm(studio=request.studio), points)
    form = OnceForm(request.POST, studio=request.studio)
    if not form.is_valid():
        messages.error(request, TOO_OLD)
        return redirect(ticket)
    money = queries.ticket_money(ticket, request.studio.country)
    try:
        if money.doubts_tax and "taxed" not in request.POST:
            raise actions.IncompleteError(actions.missing_now(ticket, request.studio), strict=False)
        invoice = actions.issue_invoice(
            ticket=ticket, by=request.user, studio=request.studio,
            form_key=form.cleaned_data["form_key"], remind="anyway" not in request.POST,
        )  # fmt: skip
    except actions.IncompleteError as wrong:
        return _incomplete(request, ticket, form, wrong.points)
    except actions.BillingError as wrong:
        messages.error(request, str(wrong))
        return redirect(ticket)
    return redirect(invoice)


def _incomplete(
    request: StudioRequest, ticket: Ticket, form: OnceForm, points: list[InvoicePoint]
) -> HttpResponse:
    """Which points are missing, each with the way to its field and back; no number was taken."""
    client = reverse("client-edit", args=[ticket.client_id])
    doors = {
        "studio": reverse("studio-invoices"), "studio.street": reverse("studio-profile"),
        "client": client, "tax": reverse("studio-taxes"),
        "ticket": reverse("ticket-change", args=[ticket.number]),
    }  # fmt: skip
    rows = []
    way_back = urlencode({"back": reverse("invoice-issue", args=[ticket.number])})
    for point in points:
        owner, _, field = point.place.partition(".")
        door = f"{doors.get(point.place) or doors[owner]}?{way_back}"
        rows.append((point, f"{door}#id_{field}" if field else door))
    strict = is_strict(request.studio.country)
    money = queries.ticket_money(ticket, request.studio.country)
    context = {
        "ticket": ticket, "rows": rows, "strict": strict, "form_key": form["form_key"],
        "money": money, "doubt": doubt_of_vat_number(ticket.client.vat_number),
    }  # fmt: skip
    return render(request, "billing/incomplete.html", context)


@owner_only
@require_http_methods(["GET", "POST"])
def invoice_settings(request: StudioRequest) -> HttpResponse:
    """A picture of the invoice, and the fields of its parts."""

    def save(card: OpenCard) -> Entry | None:
        fields = list(card.form.fields)
        return save_profile(studio=card.form.instance, fields=fields, by=request.user)

    card = edit_card(
        request, request.studio,
        lambda data, studio: forms.InvoiceSettingsForm(data, instance=studio, studio=studio), save,
    )  # fmt: skip
    if card.saved:
        words, undo = "Invoices: saved.", reverse("studio-undo")
        if card.entry:
            say(request, words, undo=undo, entry=card.entry.pk, back=reverse("studio-invoices"))
        else:
            say(request, words)
        return go_back(request, "studio-invoices")
    studio = Profile.objects.get(pk=1)
    seller = documents.seller_facts(studio)
    context = {
        "vat_number": vat_number_of(seller), "tax_number": tax_number_of(seller),
        "form": card.form, "lacks": [point.key for point in documents.unsaid(studio)],
        "strict": is_strict(studio.country), "limit": documents.simplified_limit(studio),
        "usual": usual_limit(studio.country, studio.currency),
        "three_decimals": decimals(studio.currency) > 2,
    }  # fmt: skip
    return render(request, "billing/invoice_settings.html", context)


@owner_only
@require_GET
def invoice(request: StudioRequest, number: str) -> HttpResponse:
    """What was issued, from the copy; the ticket may say something else by now."""
    context = _paper(_invoice(number))
    issued, notes = context["invoice"], list(context["invoice"].credits.order_by("pk"))
    context["standing"] = queries.standing(issued, notes, context["payments"])
    context["credit"] = next((note for note in notes if not note.part), None)
    context["parts"] = [note for note in notes if note.part]
    before = issued.gross - issued.data.get("balance", issued.gross)
    context["paid"] = before + sum(payment.amount for payment in context["payments"])
    return render(request, "billing/invoice.html", context)


def _paper(issued: Invoice) -> dict[str, Any]:
    """What the page shows of an issued paper, as it was copied."""
    countries = documents.told_countries(issued.data, Words())
    return {
        "invoice": issued,
        "data": issued.data,
        **countries,
        "to_give_back": queries.gives_back(issued.data),
        "charges": documents.shown_charges(issued.data),
        "rates": [shown_tax(rate) for rate in issued.data["rates"]],
        "headings": documents.price_headings(issued.data),
        "payments": list(issued.payments.order_by("pk")),
    }


@owner_only
@require_http_methods(["GET", "POST"])
def credit(request: StudioRequest, number: str) -> HttpResponse:
    issued = _invoice(number)
    form = forms.ReasonForm(request.POST or None, studio=request.studio)
    if form.is_valid():
        try:
            note = actions.credit_invoice(
                invoice=issued, by=request.user, studio=request.studio, **form.cleaned_data
            )
        except actions.BillingError as wrong:
            form.add_error(None, str(wrong))
        else:
            messages.success(
                request, f"{issued.number} is taken back by credit note {note.number}."
            )
            return redirect(note)
    parts = list(issued.credits.filter(part=True))
    sums = {
        key: getattr(issued, key) + sum(getattr(note, key) for note in parts)
        for key in ("net", "tax", "gross")
    }
    context = _paper(issued) | {"form": form, "parts": parts, "rest": sums}
    return render(request, "billing/credit.html", context)


@owner_only
@require_http_methods(["GET", "POST"])
def credit_lines(request: StudioRequest, number: str) -> HttpResponse:
    """Ticks on the paper, the credit note beside it. Ticks by GET, and *Calculate*, only sum."""
    issued = _invoice(number)
    notes = list(issued.credits.order_by("pk"))
    if issued.kind == Invoice.Kind.CREDIT or not all(note.part for note in notes):
        messages.info(request, f"{issued.number} does not stand: nothing of it can be credited.")
        return redirect(issued)
    paid, balance = queries.paid_and_open(issued.ticket)
    taken = issued.ticket.payments.filter(amount__gt=0).first() if paid > 0 else None
    only_sums = request.method == "GET" or request.POST.get("intent") == "sum"
    form = forms.CreditForm(
        request.POST or request.GET or None,
        studio=request.studio,
        invoice=issued,
        notes=[note.data for note in notes],
        balance=balance,
        only_sums=only_sums,
        initial={"how": taken.method if taken else ""},
    )
    if form.is_valid() and form.charges and form.seen() and not only_sums:
        if note := _credited(request, issued, form):
            return redirect(note)
    elif form.is_bound and not only_sums and not form.errors:
        ask = "Look at the sums, then issue it." if form.charges else "Tick what is credited."
        form.add_error(None, ask)
    added = issued.data["studio"]["tax_mode"] == "added"
    words = (" without tax" if added else " with tax") if issued.data["rates"] else ""
    context = _paper(issued) | {"form": form, "paid": paid, "parts": notes, "of_list": words}
    context["reasons"] = forms.USUAL_REASONS
    return render(request, "billing/credit_lines.html", context)


def _credited(request: StudioRequest, issued: Invoice, form: forms.CreditForm) -> Invoice | None:
    facts = form.cleaned_data
    way = facts["how"] if facts["how"] in Payment.Method.values else ""
    try:
        note = actions.credit_lines(
            invoice=issued, amounts=form.amounts, why=facts["why"], give_back=way,
            by=request.user, studio=request.studio, form_key=facts["form_key"],
        )  # fmt: skip
    except actions.BillingError as wrong:
        form.add_error(None, str(wrong))
        return None
    total = format_money(-note.gross, note.currency, request.studio.locale)
    messages.success(request, f"{total} of {issued.number} credited by {note.number}.")
    return note


def _invoice(number: str) -> Invoice:
    rows = Invoice.objects.select_related("ticket__client", "issued_by", "refers_to")
    issued: Invoice = get_object_or_404(rows, number=number.upper())
    return issued


@owner_only
@require_http_methods(["GET", "POST"])
def take(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    initial = {"amount": max(queries.balance(ticket), 0)}
    form = forms.PaymentForm(request.POST or None, studio=request.studio, initial=initial)

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
    form = forms.RefundForm(request.POST or None, studio=request.studio, initial=initial)

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
    form = forms.ReasonForm(request.POST or None, studio=request.studio)

    def book() -> Payment:
        return actions.reverse_payment(
            payment=payment, by=request.user, studio=request.studio, **form.cleaned_data
        )

    title = f"Reverse {payment.number}"
    return _booked(request, ticket, form, book, title, payment=payment)


def booked_message(payment: Payment, studio: Profile) -> str:
    """What the next page says, with the ways to the receipt and back."""
    words = '{} {}. <a href="{}">Receipt {}</a>'
    done = "paid" if payment.amount > 0 else "given back"
    amount = format_money(abs(payment.amount), payment.currency, studio.locale)
    receipt = reverse("receipt", args=[payment.number])
    if payment.kind == Payment.Kind.REVERSAL:
        return format_html(words, amount, "reversed", receipt, payment.number)
    back = reverse("payment-reverse", args=[payment.ticket.number, payment.number])
    words += ' · <a href="{}">Reverse</a>'
    return format_html(words, amount, done, receipt, payment.number, back)


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
            messages.success(request, booked_message(payment, request.studio))
            return redirect(f"{ticket.get_absolute_url()}#money")
    balance = queries.balance(ticket)
    context |= {"ticket": ticket, "form": form, "title": title}
    context |= {"balance": balance, "to_settle": abs(balance)}
    return render(request, "billing/payment.html", context)


@owner_only
@require_safe
def invoice_paper(request: StudioRequest, number: str) -> HttpResponse:
    invoices = Invoice.objects.select_related("ticket", "paper")
    invoice = get_object_or_404(invoices, number=number.upper())
    address = absolute(request, invoice.ticket.get_absolute_url())
    return serve_paper(documents.invoice_paper(invoice, studio=request.studio, address=address))


@owner_only
@require_safe
def invoice_xml(request: StudioRequest, number: str) -> HttpResponse:
    """The electronic invoice alone, as it was issued."""
    invoice = _invoice(number)
    xml = invoice.data.get("xml")
    if not xml:
        raise Http404("This invoice was issued without an electronic one.")
    response = HttpResponse(xml, content_type="application/xml")
    name = f"{invoice.number.lower()}.xml"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


@ticked(Tick.DRAWER)
@require_safe
def receipt(request: StudioRequest, number: str) -> HttpResponse:
    """A helper prints those of what she has taken."""
    payments = Payment.objects.select_related("ticket", "paper")
    payment = get_object_or_404(payments, number=number.upper())
    if not request.user.is_owner and payment.taken_by_id != request.user.pk:
        raise PermissionDenied("Only the owner may open what somebody else has taken.")
    address = absolute(request, payment.ticket.get_absolute_url())
    return serve_paper(documents.receipt_paper(payment, studio=request.studio, address=address))
