"""The page on how each measure is taken."""

from django.urls import reverse
from django.utils.html import escape

from clients.fit.measures import MEASURES


def test_every_measure_is_explained_with_its_source(helper_client):
    page = helper_client.get(reverse("how-to-measure")).content.decode()
    assert page.count('class="body" role="img"') == 2
    for measure in MEASURES.values():
        start = page.index(f'id="measure-{measure.number}"')
        section = page[start : page.index("</section>", start)]
        for words in (
            measure.name,
            measure.definition,
            measure.landmark,
            measure.how,
        ):
            assert escape(words) in section, measure.key
        # Where no source stands, the page says that it is common practice.
        own = "Source" not in section
        assert own == (measure.label == "common practice"), measure.key
        assert own or escape(measure.source) in section


def test_the_page_needs_no_query_for_a_measure(owner_client, django_assert_num_queries):
    """Session, user and studio, as on every page, and the owner's own measures."""
    with django_assert_num_queries(4):
        owner_client.get(reverse("how-to-measure"))
