"""Pages are compressed for browsers that can read it (RFC 9110, 8.4.1.3; RFC 1952)."""

import gzip

import pytest
from django.http import FileResponse, HttpResponse, StreamingHttpResponse
from django.test import RequestFactory
from django.urls import reverse

from studio.shop.middleware import CompressionMiddleware

LONG = "a hem of 45 mm, " * 100
GZIP = {"Accept-Encoding": "gzip, deflate, br"}


def answered(response, **headers):
    request = RequestFactory().get("/", headers={**GZIP, **headers})
    return CompressionMiddleware(lambda _: response)(request)


def test_a_page_is_compressed_and_keeps_its_policy(owner_client):
    plain = owner_client.get(reverse("looks"))
    packed = owner_client.get(reverse("looks"), headers=GZIP)
    assert "Content-Encoding" not in plain.headers
    assert packed.headers["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in packed.headers["Vary"]
    assert int(packed.headers["Content-Length"]) == len(packed.content) < len(plain.content) / 2
    name = "Content-Security-Policy"
    assert packed.headers[name] == plain.headers[name]
    page = gzip.decompress(packed.content).decode()
    assert page.startswith("<!doctype html>")
    assert page.rstrip().endswith("</html>")


def test_a_table_is_compressed():
    response = answered(HttpResponse(LONG, content_type="text/csv; charset=utf-8"))
    assert gzip.decompress(response.content).decode() == LONG


def test_who_cannot_read_it_gets_it_plain():
    assert answered(HttpResponse(LONG), **{"Accept-Encoding": "identity"}).content.decode() == LONG


def test_the_length_says_nothing_exact():
    """The same page weighs now this, now that: what is added is up to 100 bytes."""
    sizes = {len(answered(HttpResponse(LONG)).content) for _ in range(60)}
    assert len(sizes) > 10
    assert max(sizes) - min(sizes) <= 100


@pytest.mark.parametrize("kind", ["application/pdf", "image/jpeg", "application/zip"])
def test_what_is_packed_already_is_left_alone(kind):
    response = answered(HttpResponse(LONG, content_type=kind))
    assert "Content-Encoding" not in response.headers
    assert response.content.decode() == LONG


def test_what_streams_still_streams(tmp_path):
    path = tmp_path / "hem.txt"
    path.write_text(LONG)
    with path.open("rb") as file:
        for response in (
            FileResponse(file, content_type="text/plain"),
            StreamingHttpResponse(iter([LONG, LONG])),
        ):
            sent = answered(response)
            assert sent is response
            assert "Content-Encoding" not in sent.headers
            assert b"".join(sent.streaming_content).decode() in {LONG, LONG * 2}
