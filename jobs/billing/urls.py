from django.urls import path

from jobs.billing.views import invoices, lists, money, papers, payments

urlpatterns = [
    path("money/", money.money, name="money"),
    path("money/day-end/", money.day_end, name="day-end"),
    path("money/ledger.csv", money.ledger_csv, name="ledger-csv"),
    path("money/owing/", lists.owing, name="owing"),
    path("money/payments/", lists.payments, name="payments"),
    path("ready/", lists.ready, name="ready"),
    path("uncollected/", lists.uncollected, name="uncollected"),
    path("invoices/", lists.invoices, name="invoices"),
    path("invoices/<slug:number>/", invoices.invoice, name="invoice"),
    path("invoices/<slug:number>/credit/", invoices.credit, name="invoice-credit"),
    path("invoices/<slug:number>/paper/", papers.invoice_paper, name="invoice-paper"),
    path("receipts/<slug:number>/", papers.receipt, name="receipt"),
    path("t/<slug:number>/invoice/", invoices.issue, name="invoice-issue"),
    path("t/<slug:number>/pay/", payments.take, name="payment-take"),
    path("t/<slug:number>/give-back/", payments.give_back, name="payment-refund"),
    path(
        "t/<slug:number>/payments/<slug:receipt>/reverse/",
        payments.reverse_entry,
        name="payment-reverse",
    ),
]
