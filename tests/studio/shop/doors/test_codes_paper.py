"""The paper with the recovery codes."""

import pytest
from django.urls import reverse

from studio.shop.models import Profile
from tests import papers
from tests.factories import CodeAppFactory
from tests.proofreading import faults


@pytest.mark.parametrize("size", ["A4", "Letter", "A5"])
def test_ten_codes_on_one_page(size, studio, owner, owner_client):
    """What the page shows is on the paper: each code, whose, for which address."""
    CodeAppFactory(user=owner)
    Profile.objects.update(paper=size, name="W" * 60)
    page = owner_client.post(reverse("second-codes"), follow=True).text
    pdf = owner_client.get(reverse("second-paper")).content
    (text,) = papers.texts(pdf)
    codes = [line.split("</li>")[0] for line in page.split('class="codes"')[1].split("<li>")[1:]]
    assert len(codes) == 10
    assert [code for code in codes if code not in text] == []
    assert "owner at testserver" in text
    assert faults(pdf, size) == []
