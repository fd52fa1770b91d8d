import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from studio.shop.pictures import FreshPicture, redraw


def file_of(kind: str, name: str, size: tuple[int, int] = (60, 40)) -> SimpleUploadedFile:
    data = io.BytesIO()
    Image.new("RGB", size, "teal").save(data, kind)
    return SimpleUploadedFile(name, data.getvalue(), f"image/{kind.lower()}")


@pytest.fixture
def photo() -> SimpleUploadedFile:
    return file_of("JPEG", "top.jpg")


@pytest.fixture
def sketch() -> SimpleUploadedFile:
    return file_of("PNG", "sketch.png")


@pytest.fixture
def jpeg(photo) -> FreshPicture:
    return redraw(photo)
