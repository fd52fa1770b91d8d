"""The sums by their name in addresses, in the order of the list."""

from jobs.tickets.fit.sums.alter import AlterForm
from jobs.tickets.fit.sums.base import SumForm
from jobs.tickets.fit.sums.circle import CircleForm
from jobs.tickets.fit.sums.cloth import ClothForm
from jobs.tickets.fit.sums.flare import FlareForm
from jobs.tickets.fit.sums.hem import HemForm
from jobs.tickets.fit.sums.legs import LegsForm
from jobs.tickets.fit.sums.patch import PatchForm
from jobs.tickets.fit.sums.skirt import SkirtForm
from jobs.tickets.fit.sums.waist import WaistForm

FORMS: list[type[SumForm]] = [
    AlterForm, HemForm, CircleForm, FlareForm, LegsForm, WaistForm, SkirtForm, ClothForm, PatchForm,
]  # fmt: skip
SUMS = {form.kind: form for form in FORMS}
