"""Jars begun, parted, joined and topped up on the page: by the rules of the commands, each once."""

from datetime import timedelta

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.shelf import shelf_at
from bubblerate.errors import BubbleRateError
from bubblerate.page.entries import Entries
from bubblerate.page.forms import Form

from phones import NOW, Phone, pages_of, shelf_in, shown
from scenes import written


def form(what, jar="fig", key="0123456789abcdef", **fields):
    names = {"from_": "from"}
    return Form(
        jar=jar, what=what, fields={"key": key} | {names.get(k, k): v for k, v in fields.items()}
    )


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    monkeypatch.setattr("bubblerate.page.views.figures", lambda *_, **__: None)
    monkeypatch.setattr("bubblerate.page.views.after_lines", lambda *_: ())


@pytest.fixture
def folder(tmp_path):
    shelf_in(tmp_path, "fig", "plum")
    written(tmp_path / "spare.csv", {"day": 0, "event": "pitched", "litres": 0.7})
    for name in ("fig", "plum"):
        path = tmp_path / f"{name}.csv"
        path.write_text(path.read_text().replace("pitched,,", "pitched,4.5,", 1))
    return tmp_path


@pytest.fixture
def phone(folder):
    return Phone(pages_of(folder))


def take(folder, some, *, entries=None, now=NOW):
    return (entries or Entries(folder)).take(some, shelf_at(folder), now=now)


def live(folder, jar):
    return read(folder / f"{jar}.csv").live


# --- as a person does it -------------------------------------------------------------------------


def test_a_jar_is_begun_and_its_page_follows(phone, folder):
    said = phone.fills(
        "/", "begin", jar="quince 2", litres="1 UK gal", gravity="1084", sugar="1.1kg", note="red"
    )
    page = phone.post("/begin", said, follow_redirects=True)
    assert page.request.path == "/jar/quince 2"
    assert "quince 2: pitched, gravity 1.084, 4.54609 litres, 1100 g of sugar" in shown(page.text)
    row = live(folder, "quince 2")[0]
    assert (row.event, row.sg, row.sugar_g, row.when) == ("pitched", 1.084, 1100.0, NOW)


def test_what_it_is_goes_into_the_settings_and_is_asked_about_where_it_looks_wrong(phone, folder):
    said = phone.fills("/", "begin", jar="pear", style="pery", gravity="1056")
    page = shown(phone.post("/begin", said, follow_redirects=True).text)
    assert "pear: style pery." in page
    assert "Did you mean perry?" in page
    page = phone.enters("pear", "about", style="perry", ph="3,6")
    assert "pear: style perry (was pery), pH 3.6." in shown(page.text)
    assert 'value="perry"' in page.text
    known = shelf_at(folder).settings.vessel("pear")
    assert (known.style, known.ph) == ("perry", 3.6)
    for fields, why in (({"ph": "sour"}, "--ph"), ({"full": "lots"}, "as a volume")):
        answer = phone.post("/jar/pear/about", phone.fills("/jar/pear", "about", **fields))
        assert (answer.status_code, why in shown(answer.text)) == (400, True)
    refused = phone.post("/begin", phone.fills("/", "begin", jar="new", style="x" * 999))
    assert refused.status_code in (303, 400)


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"jar": "fig"}, "fig.csv"),
        ({"jar": "FIG"}, "fig"),
        ({"jar": ""}, "name has up to 80 letters"),
        ({"jar": "../fig"}, "name has up to 80 letters"),
        ({"jar": "new", "litres": "much"}, "as a volume"),
        ({"jar": "new", "gravity": "sweet"}, "gravity"),
        ({"jar": "new", "when": "soon"}, "soon"),
    ],
)
def test_a_jar_that_cannot_be_begun_is_told_above_what_was_typed(phone, folder, fields, why):
    before = sorted(folder.glob("*.csv"))
    answer = phone.post("/begin", phone.fills("/", "begin", note="mine", **fields))
    assert answer.status_code == 400
    assert "Not written:" in answer.text
    assert why in shown(answer.text)
    assert 'value="mine"' in answer.text
    assert sorted(folder.glob("*.csv")) == before
    assert phone.get("/begin").status_code == 302


def test_a_jar_is_parted_and_a_spare_is_known_as_one(phone, folder):
    page = phone.enters("fig", "split", into="fig-2", litres="750ml", left="3.7", spare="yes")
    text = shown(page.text)
    assert "fig: split, 3.7 litres, other jar fig-2" in text
    assert "fig-2: split, 0.75 litres, other jar fig" in text
    assert "It is the spare for fig and needs no verdict." in text
    assert 'spare_for = "fig"' in (folder / "bubblerate.toml").read_text()
    assert len(live(folder, "fig-2")) == len(live(folder, "fig"))


def test_a_jar_is_topped_up_from_another_in_one_act(phone, folder):
    page = phone.enters("fig", "top-up", **{"from": "spare", "litres": "0.3", "note": "full"})
    text = shown(page.text)
    assert "fig: topped-up, 4.8 litres, 0.3 L added, other jar spare" in text
    assert "spare was never read, so it counts as finished wine." in text
    assert live(folder, "spare")[-1].litres == 0.4
    fed = shown(phone.enters("plum", "top-up", **{"from": "fig", "litres": "0.3"}).text)
    assert "fig is still fermenting: it feeds plum" in fed


def test_two_jars_are_joined_into_the_less_far_or_a_new_one(phone, folder):
    page = shown(phone.enters("fig", "join", other="plum", into="big").text)
    assert "big: joined, 9 litres, 4.5 L added" in page
    assert "Its gravity is worked out, so take a reading" in page
    assert live(folder, "big")[-1].note.startswith("worked out by volume: gravity ")
    assert live(folder, "plum")[-1].litres == 0.0
    page = phone.post(
        "/jar/big/join", phone.fills("/jar/big", "join", other="spare"), follow_redirects=True
    )
    assert page.request.path in ("/jar/big", "/jar/spare")
    assert "In the" not in page.text
    assert "Empty." not in shown(page.text)  # the one that holds the wine follows
    assert "Count the bubbles" not in phone.get("/jar/plum").text


@pytest.mark.parametrize(
    ("what", "fields", "why"),
    [
        ("split", {"into": "new"}, "say how much goes into it"),
        ("split", {"litres": "1"}, "name the new jar"),
        ("split", {"into": "new", "litres": "9"}, "fig holds 4.5 litres"),
        ("split", {"into": "plum", "litres": "1"}, "there is already a diary plum"),
        ("split", {"into": "../x", "litres": "1"}, "name has up to 80 letters"),
        ("split", {"into": "new", "litres": "a bit"}, "as a volume"),
        ("top-up", {"litres": "0.3"}, "choose the jar you topped it up from"),
        ("top-up", {"from": "spare"}, "say how much you poured"),
        ("top-up", {"from": "spare", "litres": "3"}, "spare holds 0.7 litres"),
        ("top-up", {"from": "fig", "litres": "0.3"}, "topped up from itself"),
        ("top-up", {"from": "../../x", "litres": "0.3"}, "no diary"),
        ("join", {}, "choose the other jar"),
        ("join", {"other": "fig"}, "fig is one jar"),
        ("join", {"other": "plum", "into": "spare"}, "there is already a diary spare"),
    ],
)
def test_what_cannot_be_poured_leaves_every_diary_as_it_was(phone, folder, what, fields, why):
    before = {path: path.read_bytes() for path in folder.glob("*.csv")}
    answer = phone.post(f"/jar/fig/{what}", phone.fills("/jar/fig", what, **fields))
    assert answer.status_code == 400
    assert why in shown(answer.text)
    assert {path: path.read_bytes() for path in folder.glob("*.csv")} == before


def test_a_shelf_of_one_jar_offers_no_other(tmp_path):
    page = Phone(pages_of(shelf_in(tmp_path, "fig"))).get("/jar/fig").text
    assert 'action="/jar/fig/split"' in page
    assert 'action="/jar/fig/join"' not in page
    assert 'action="/jar/fig/top-up"' not in page


# --- each once -----------------------------------------------------------------------------------

POURINGS = [
    form("begin", jar="new", litres="4.5", gravity="1.080"),
    form("split", into="new", litres="1"),
    form("top-up", from_="spare", litres="0.2"),
    form("join", other="plum", into="new"),
    form("join", other="plum"),
]


@pytest.mark.parametrize("some", POURINGS, ids=lambda form: form.what)
def test_what_is_sent_twice_is_done_once_after_a_restart_too(folder, some):
    entries = Entries(folder)
    first = take(folder, some, entries=entries)
    after = {path: path.read_bytes() for path in folder.glob("*.csv")}
    assert take(folder, some, entries=entries) == first
    again = take(folder, some, now=NOW + timedelta(hours=3))  # as after a restart
    assert again.text.partition(",")[0].startswith(some.jar)
    assert {path: path.read_bytes() for path in folder.glob("*.csv")} == after


@pytest.mark.parametrize("some", POURINGS, ids=lambda form: form.what)
def test_what_was_cut_short_before_its_rows_is_done_when_it_comes_again(folder, some, monkeypatch):
    def cut(*_, **__):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        for place in ("shelf.writing.create", "together.put_all"):
            patched.setattr(f"bubblerate.diary.{place}", cut)
        with pytest.raises(KeyboardInterrupt):
            take(folder, some)
    take(folder, some, now=NOW + timedelta(hours=3))
    name = some.fields.get("into", some.jar)
    assert live(folder, name)[-1].when == NOW  # when it was done, not when it came through


def test_what_is_not_said_is_not_remembered_either(folder):
    with pytest.raises(BubbleRateError):
        take(folder, form("split", into="new"))
    assert not (folder / ".bubblerate.phone-entries").exists()
