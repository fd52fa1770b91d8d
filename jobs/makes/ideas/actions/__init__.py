"""The verbs of own sewing: each one transaction, safe to send twice, and to be undone."""

from jobs.makes.ideas.actions.adding import add_idea, made_on_a_whim
from jobs.makes.ideas.actions.holding import add_pictures, mean_cloth, spare_cloth, take_picture_off
from jobs.makes.ideas.actions.moving import (
    finish,
    let_go,
    move_card,
    move_up_or_down,
    start,
    take_up,
)
from jobs.makes.ideas.actions.saying import describe, set_fate, set_heat
from jobs.makes.ideas.actions.undo import undo

__all__ = [
    "add_idea",
    "add_pictures",
    "describe",
    "finish",
    "let_go",
    "made_on_a_whim",
    "mean_cloth",
    "move_card",
    "move_up_or_down",
    "set_fate",
    "set_heat",
    "spare_cloth",
    "start",
    "take_picture_off",
    "take_up",
    "undo",
]
