"""The hem sum's answer leads to how long such a hem takes, with scripts and without."""

from decimal import Decimal
from html import unescape
from re import search

from django.urls import reverse

from jobs.planning.hems import HemSizeForm
from tests import factories as f

HEM = {"garment": "dress", "finished": "100 cm", "depth": "4 cm", "layers": "2"}


def answer(client, **more) -> str:
    garment = f.GarmentFactory()
    return unescape(client.get(reverse("fit-sum", args=[garment.pk, "hem"]), HEM | more).text)


def test_a_hem_whose_edge_is_known_asks_for_its_minutes(owner_client, studio):
    shown = answer(owner_client, edge="240 cm")
    address = search(r'hx-get="([^"]+)" hx-trigger="load"', shown)[1]
    assert f'<a href="{address}">How long will it take?</a>' in shown
    form = owner_client.get(address).context["form"]
    assert isinstance(form, HemSizeForm)
    assert form.is_valid()
    assert form.cleaned_data["length"].mm == Decimal(2400)
    assert form.cleaned_data["layers"] == 2


def test_a_hem_whose_edge_is_not_known_asks_for_nothing(owner_client, studio):
    assert "How long will it take?" not in answer(owner_client)
