"""The owner looks how the copies stand, names a second place, makes a copy, opens and takes it."""

import zipfile

import pytest
from playwright.sync_api import expect

from studio.backup import options
from tests.browser.hands import assert_accessible, assert_fits, signed_in
from tests.drafts import paid, received


@pytest.fixture
def _folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()


@pytest.mark.usefixtures("_folder")
def test_a_copy_by_thumb(page, studio, owner, tmp_path):
    paid(studio, owner, received(studio, owner), 1050)
    stick = tmp_path / "stick"
    stick.mkdir()
    signed_in(page, owner)
    page.goto("/")
    page.get_by_text("First steps").tap()
    page.get_by_role("link", name="The first backup").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Backups")
    assert_fits(page)
    assert_accessible(page)

    page.get_by_role("link", name="Second place").tap()
    page.get_by_role("link", name="Folder or stick").tap()
    page.get_by_label("Folder").fill(str(stick))
    page.get_by_role("button", name="Save").tap()
    expect(page.locator("main")).to_contain_text(str(stick))

    page.get_by_role("button", name="Back up now").tap()
    copy = page.get_by_role("link", name="1 ticket, €10.50 paid, read back and equal")
    expect(copy).to_be_visible()
    assert_fits(page)
    copy.tap()
    expect(page.get_by_role("button", name="Look inside")).to_be_visible()
    assert_fits(page)
    assert_accessible(page)
    with page.expect_download() as download:
        page.get_by_role("link", name="Download").tap()
    download.value.save_as(tmp_path / "taken.zip")
    assert zipfile.ZipFile(tmp_path / "taken.zip").testzip() is None
    (kept,) = options.copies_folder().glob("studio-*.zip")
    assert (stick / kept.name).read_bytes() == (tmp_path / "taken.zip").read_bytes()
