"""Reading queries of the money room."""

from jobs.billing.queries.balances import (
    balance,
    open_invoice,
    owed,
    paid,
    standing_payments,
    usual_kind,
    with_balances,
)
from jobs.billing.queries.income import (
    IncomeRow,
    OperationIncome,
    income_by_operation,
    income_rows,
)
from jobs.billing.queries.ledger import LedgerRow, ledger
from jobs.billing.queries.takings import Takings, invoiced_between, taken_between, taken_on
from jobs.billing.queries.ticket_money import TicketMoney, ticket_money
from jobs.billing.queries.waiting import (
    AGES,
    OpenMoney,
    age_in_days,
    open_money,
    owing,
    ready_tickets,
    uncollected,
    waiting_by_age,
)

__all__ = [
    "AGES",
    "IncomeRow",
    "LedgerRow",
    "OpenMoney",
    "OperationIncome",
    "Takings",
    "TicketMoney",
    "age_in_days",
    "balance",
    "income_by_operation",
    "income_rows",
    "invoiced_between",
    "ledger",
    "open_invoice",
    "open_money",
    "owed",
    "owing",
    "paid",
    "ready_tickets",
    "standing_payments",
    "taken_between",
    "taken_on",
    "ticket_money",
    "uncollected",
    "usual_kind",
    "waiting_by_age",
    "with_balances",
]
