"""The verbs of bookkeeping. Each is one function, one transaction, and safe to send twice."""

from jobs.billing.actions.invoices import credit_invoice, issue_invoice
from jobs.billing.actions.payments import record_payment, refund, reverse_payment
from jobs.billing.errors import BillingError

__all__ = [
    "BillingError",
    "credit_invoice",
    "issue_invoice",
    "record_payment",
    "refund",
    "reverse_payment",
]
