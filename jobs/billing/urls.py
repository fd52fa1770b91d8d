from django.urls import path

from jobs.billing import reverse_charge, views

urlpatterns = [
    path("money/", views.money, name="money"),
    path("money/day-end/", views.day_end, name="day-end"),
    path("money/ledger.csv", views.ledger_csv, name="ledger-csv"),
    path("money/owing/", views.owing, name="owing"),
    path("money/payments/", views.payments, name="payments"),
    path("ready/", views.ready, name="ready"),
    path("invoices/", views.invoices, name="invoices"),
    path("invoices/<slug:number>/", views.invoice, name="invoice"),
    path("invoices/<slug:number>/credit/", views.credit, name="invoice-credit"),
    path("invoices/<slug:number>/credit-lines/", views.credit_lines, name="invoice-credit-lines"),
    path("invoices/<slug:number>/paper/", views.invoice_paper, name="invoice-paper"),
    path("invoices/<slug:number>/xml/", views.invoice_xml, name="invoice-xml"),
    path("receipts/<slug:number>/", views.receipt, name="receipt"),
    path("studio/invoices/", views.invoice_settings, name="studio-invoices"),
    path("t/<slug:number>/invoice/", views.issue, name="invoice-issue"),
    path("t/<slug:number>/pay/", views.take, name="payment-take"),
    path("t/<slug:number>/give-back/", views.give_back, name="payment-refund"),
    path("t/<slug:number>/reverse-charge/", reverse_charge.reverse_charge, name="reverse-charge"),
    path(
        "t/<slug:number>/payments/<slug:receipt>/reverse/",
        views.reverse_entry,
        name="payment-reverse",
    ),
]
