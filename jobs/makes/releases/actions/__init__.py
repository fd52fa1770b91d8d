"""The verbs of a release: each one transaction, and sent twice as good as once."""

from jobs.makes.releases.actions.releases import (
    change_release,
    publish,
    put_away,
    start_release,
    withdraw,
)
from jobs.makes.releases.actions.rows import change_row, take_row_off, write_row
from jobs.makes.releases.actions.sales import bring_sales_in, sell
from jobs.makes.releases.actions.stages import (
    add_stage,
    change_stage,
    move_stage,
    set_done,
    take_stage_off,
)

__all__ = [
    "add_stage",
    "bring_sales_in",
    "change_release",
    "change_row",
    "change_stage",
    "move_stage",
    "publish",
    "put_away",
    "sell",
    "set_done",
    "start_release",
    "take_row_off",
    "take_stage_off",
    "withdraw",
    "write_row",
]
