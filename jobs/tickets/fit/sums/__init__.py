"""The sums by their name in addresses, in the order of the list."""

from jobs.tickets.fit.sums.alter import AlterForm
from jobs.tickets.fit.sums.base import SumForm
from jobs.tickets.fit.sums.bustles import BustleForm
from jobs.tickets.fit.sums.cloth import ClothForm, PatchForm
from jobs.tickets.fit.sums.curtain import CurtainForm
from jobs.tickets.fit.sums.hem import HemForm
from jobs.tickets.fit.sums.legs import LegsForm
from jobs.tickets.fit.sums.skirts import CircleForm, FlareForm, SkirtForm, WaistForm
from jobs.tickets.fit.sums.sleeve import SleeveForm
from jobs.tickets.fit.sums.spacing import ButtonsForm, GathersForm, PleatsForm
from jobs.tickets.fit.sums.zips import ZipForm

FORMS: list[type[SumForm]] = [
    CurtainForm, AlterForm, HemForm, CircleForm, FlareForm, LegsForm, SleeveForm, WaistForm,
    SkirtForm, ZipForm, BustleForm, ButtonsForm, PleatsForm, GathersForm, ClothForm, PatchForm,
]  # fmt: skip
SUMS = {form.kind: form for form in FORMS}
