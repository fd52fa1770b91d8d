"""What the pictures of a wall of 200 ideas weigh: those of its first three screens."""

import io
import re
from math import cos, sin

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image, ImageFilter

from jobs.makes.pictures import keep
from studio.shop.pictures import redraw
from studio.shop.stored.files import atomic_with_files
from tests import factories as f

IDEAS = 200
MOST_BYTES = 1_500_000
# Three screens of 1280 by 900 hold 9 rows of 7 beside the tray, three of a phone 14 rows of 3; a
# browser fetches lazy pictures well ahead, so all that the page names are counted.


def as_from_a_phone(number: int) -> bytes:
    """A JPEG of a printed garment before a wall: large shapes, print, the noise of a small lens."""
    side = 1200, 1600
    small = Image.new("RGB", (12, 16))
    small.putdata([
        tuple(int(128 + 100 * sin(number + x * (0.5 + c / 5)) * cos(number * 0.7 + y * 0.6 + c))
              for c in range(3))
        for y in range(16) for x in range(12)
    ])  # fmt: skip
    shapes = small.resize(side, Image.Resampling.BICUBIC)
    # The garment, half of the picture, has a print that is still seen in the small copy.
    printed = Image.effect_noise((300, 400), 90).filter(ImageFilter.GaussianBlur(0.6)).resize(side)
    garment = Image.new("L", side, 0)
    garment.paste(110, (250, 150, 950, 1500))
    grain = Image.effect_noise(side, 24)
    shapes.paste(Image.merge("RGB", [printed] * 3), mask=garment)
    jpeg = io.BytesIO()
    Image.blend(shapes, Image.merge("RGB", [grain] * 3), 0.12).save(jpeg, "JPEG", quality=90)
    return jpeg.getvalue()


@pytest.fixture
def wall(studio):
    pictures = []
    for number in range(20):
        with atomic_with_files():
            pictures.append(keep(redraw(SimpleUploadedFile("shot.jpg", as_from_a_phone(number)))))
    cloths = f.ClothFactory.create_batch(6)
    for cloth, picture in zip(cloths, pictures, strict=False):
        cloth.swatch = picture
        cloth.save()
    piles = f.PileFactory.create_batch(8)
    for number in range(IDEAS):
        make = f.MakeFactory(words=f"Idea {number}", place=number)
        make.pictures.add(pictures[number % 20])
        f.ClothPlanFactory(make=make, cloth=cloths[number % 6])
        if number % 2:
            f.PilePlaceFactory(pile=piles[number % 8], make=make)


def test_three_screens_of_two_hundred_ideas(owner_client, wall, record_property):
    """Each face counts as if it were another picture, as on a real wall it is."""
    page = owner_client.get(reverse("own")).text
    weights: dict[str, int] = {}
    for address in set(re.findall(r'<img src="([^"]+)"', page)):
        weights[address] = len(b"".join(owner_client.get(address).streaming_content))
    faces = len(re.findall(r'class="face[^"]*"><img', page))
    mean = sum(weights.values()) / len(weights)
    snips = len(set(re.findall(r'class="snip"><img src="([^"]+)"', page)))
    whole = (faces + snips) * mean
    record_property(
        "figure",
        f"the wall of {IDEAS} ideas: {faces} faces and {snips} swatches of {mean / 1000:.1f} kB, "
        f"{whole / 1e6:.2f} MB of at most {MOST_BYTES / 1e6:.1f}",
    )
    assert whole <= MOST_BYTES
