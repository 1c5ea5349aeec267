import re

import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.folder import Unread
from bubblerate.diary.settings import Settings
from bubblerate.diary.shelf import shelf_at
from bubblerate.page.twin import shelf_html

from phones import NOW, shelf_in, shown


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    shelf = shelf_at(shelf_in(tmp_path_factory.mktemp("shelf"), "fig"))
    fig = judge(shelf.open("fig").diary, at=NOW, settings=Settings())
    return shelf_html(
        [Unread(vessel="<plum>", error="no such day"), fig], at=NOW, settings=Settings()
    )


def test_the_shelf_is_one_file_that_asks_for_nothing(page):
    assert "<script" not in page
    assert "<form" not in page
    assert "<link" not in page
    addresses = re.findall(r"""(?:src|href)=["']([^"']{1,30})|url\(""", page)
    assert all(one.startswith(("#jar-", "data:image/svg+xml;base64,")) for one in addresses)
    assert page.count("data:image/svg+xml;base64,") == 1


def test_it_says_what_the_pages_say(page):
    text = shown(page)
    assert "Shelf, 20 Oct 2026 21:00" in text
    assert "fig: Rack it? Not yet." in text
    assert "fig fermenting. Rack it? WAIT today: count" in text
    assert "<plum> no such day" in text
    assert "Line 4: 34 in 1 min" in text


def test_its_links_lead_to_its_jars(page):
    assert {*re.findall(r'href="#(jar-\d+)"', page)} == {*re.findall(r'id="(jar-\d+)"', page)}


def test_it_is_made_for_paper_too(page):
    assert "size: A4" in page
    assert "break-inside: avoid" in page
