"""The door of the page, and what every answer carries."""

import json
import re

import pytest

from bubblerate.page import pages as module
from bubblerate.page.app import make_app

from phones import HOST, ORIGIN, Phone, hidden, pages_of, shelf_in, shown

LOOKS = ["/", "/jar/fig", "/jar/fig/picture.svg", "/evening", "/calendar.ics", "/static/page.css"]
LOOKS += ["/static/page.js", "/nothing", "/jar/none", "/k"]
ENTRIES = ["/jar/fig/tally", "/jar/fig/gravity", "/jar/fig/event", "/jar/fig/strike"]
ENTRIES += ["/jar/fig/listen", "/jar/fig/rows", "/", "/nothing"]


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    """No picture is looked at here."""
    monkeypatch.setattr("bubblerate.show.pictures.tail.tail_picture", lambda *_, **__: b"<svg/>")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return shelf_in(tmp_path_factory.mktemp("shelf"), "fig")


@pytest.fixture(scope="module")
def pages(folder):
    return pages_of(folder)


@pytest.fixture
def phone(pages):
    return Phone(pages)


@pytest.fixture
def stranger(pages):
    return Phone(pages, let_in=False)


def one_sentence(answer):
    """What an error says; no trace of how the program is made."""
    text = shown(answer.text)
    assert "Traceback" not in text
    assert "File " not in text
    assert len(text) < 400
    return text


# --- who comes in --------------------------------------------------------------------------------


def test_the_key_is_in_the_address_once_and_then_there_is_a_cookie(stranger):
    answer = stranger.get(f"/k/{stranger.door.key}")
    assert (answer.status_code, answer.location) == (303, "/")
    cookie = answer.headers["Set-Cookie"]
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= {*cookie.split("; ")}
    assert stranger.door.key not in cookie
    page = stranger.get("/")
    assert page.status_code == 200
    assert stranger.door.key not in page.text


@pytest.mark.parametrize("key", ["x" * 22, "x", "%00", "é", "KEY"])
def test_another_key_is_refused(stranger, key):
    key = stranger.door.key.swapcase() if key == "KEY" else key
    answer = stranger.get(f"/k/{key}")
    assert (answer.status_code, answer.headers.get("Set-Cookie")) == (403, None)
    assert "Scan the code again" in one_sentence(answer)


@pytest.mark.parametrize("path", LOOKS)
def test_who_has_no_cookie_sees_nothing(stranger, path):
    answer = stranger.get(path)
    assert answer.status_code == 403
    assert "Scan the code" in one_sentence(answer)


@pytest.mark.parametrize("path", LOOKS)
@pytest.mark.parametrize("cookie", ["", "x", "é", "0" * 64])
def test_a_wrong_cookie_is_as_good_as_none(stranger, path, cookie):
    answer = stranger.get(path, Cookie=f"{stranger.door.cookie}={cookie}")
    assert answer.status_code == 403


@pytest.mark.parametrize("path", ENTRIES)
def test_who_has_no_cookie_writes_nothing(stranger, path):
    assert stranger.post(path, {"count": "12", "key": "0123456789abcdef"}).status_code == 403


def test_a_cookie_of_the_old_key_is_worth_nothing_after_a_new_one(phone, folder):
    from dataclasses import replace

    door = replace(phone.door, key="n" * 22)
    app = make_app(replace(pages_of(folder), door=door)).test_client()
    cookie = f"{door.cookie}={phone.door.pass_}"
    assert app.get("/", base_url=ORIGIN, headers={"Cookie": cookie}).status_code == 403


# --- under which name ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1", "127.0.0.1:80", "evil.example:8530", ""]
)
@pytest.mark.parametrize("path", ["/", "/jar/fig", "/k/KEY", "/static/page.css", "/nothing"])
def test_a_foreign_name_is_answered_by_nothing(phone, host, path):
    answer = phone.get(path.replace("KEY", phone.door.key), Host=host)
    assert answer.status_code == 400
    assert answer.headers.get("Set-Cookie") is None
    one_sentence(answer)


def test_a_foreign_name_writes_nothing(phone):
    fields = {"count": "12", "key": "0123456789abcdef"}
    headers = {"Host": "evil.example:8530", "Origin": "http://evil.example:8530"}
    assert phone.post("/jar/fig/tally", fields, headers=headers).status_code == 400


def test_a_second_name_of_the_machine_will_do(phone):
    assert phone.client.get("/", headers={"Host": "localhost:8530"}).status_code == 403  # no cookie
    phone.client.get(f"/k/{phone.door.key}", base_url="http://localhost:8530")
    assert phone.client.get("/", base_url="http://localhost:8530").status_code == 200


# --- from where ----------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ENTRIES)
@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "null"},
        {"Origin": "http://evil.example"},
        {"Origin": "https://127.0.0.1:8530"},
        {"Origin": "http://127.0.0.1"},
        {"Origin": "http://localhost:8530"},  # a name of ours, but not that of this request
        {"Referer": f"{ORIGIN}/jar/fig"},
    ],
)
def test_what_does_not_come_from_the_page_writes_nothing(phone, folder, path, headers):
    before = (folder / "fig.csv").read_bytes()
    fields = {"count": "12", "key": "0123456789abcdef"}
    answer = phone.post(path, fields, headers=headers)
    assert answer.status_code == 403
    assert "nothing was written" in one_sentence(answer)
    assert (folder / "fig.csv").read_bytes() == before


@pytest.mark.parametrize("method", ["put", "delete", "patch", "options"])
def test_other_methods_lead_nowhere(phone, method):
    for path in ("/", "/jar/fig", "/jar/fig/tally"):
        ask = getattr(phone.client, method)
        assert ask(path, base_url=ORIGIN).status_code == 403  # without an Origin
        answer = ask(path, base_url=ORIGIN, headers={"Origin": ORIGIN})
        assert answer.status_code == (200 if method == "options" else 405)
        one_sentence(answer)


# --- what an answer carries ----------------------------------------------------------------------


@pytest.mark.parametrize("path", [*LOOKS, "/k/KEY"])
def test_nothing_is_kept_and_nothing_comes_from_elsewhere(phone, path):
    answer = phone.get(path.replace("KEY", phone.door.key))
    assert answer.headers["Cache-Control"] == "no-store"
    policy = answer.headers["Content-Security-Policy"]
    assert policy.split(";")[0] == "default-src 'self'"
    assert "script-src" not in policy
    assert "unsafe" not in policy or path.endswith(".svg")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert "Server" not in answer.headers


@pytest.mark.parametrize("path", ["/", "/jar/fig", "/evening", "/nothing"])
def test_a_page_holds_no_script_or_style_of_its_own_and_names_no_other_place(phone, path):
    page = phone.get(path).text
    assert not re.search(r"<style|\bstyle=|\bon\w+=|javascript:", page)
    assert re.findall(r"<script[^>]*>([^<]*)</script>", page) == [""]
    named = re.findall(r"""(?:src|href|action)="([^"]*)\"""", page)
    assert all(one.startswith(("/", f"{ORIGIN}/calendar.ics")) for one in named)


@pytest.mark.parametrize("path", ["/", "/jar/fig", "/evening"])
def test_a_page_is_small_and_says_that_plain_http_can_be_read(phone, path):
    page = phone.get(path).text
    assert len(page.encode()) < 60_000
    assert "others on the same network could read what is sent" in page
    assert "<noscript" not in page  # nothing has to be said: every form works without


# --- names, sizes, kinds -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "jar",
    [
        "none",
        "..",
        "../fig",
        "..%2Ffig",
        "%2e%2e%2fetc%2fpasswd",
        "fig.csv",
        "FIG",
        "fig%00",
        "fig%0a",
        ".bubblerate",
        "*",
        "%ff",
    ],
)
def test_only_names_on_the_shelf_are_jars(phone, folder, jar):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    for answer in (
        phone.get(f"/jar/{jar}"),
        phone.post(f"/jar/{jar}/tally", {"count": "1", "key": "0123456789abcdef"}),
    ):
        assert answer.status_code in (404, 405, 308)
        one_sentence(answer)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize("what", ["tally", "gravity", "event", "strike"])
def test_a_form_has_a_size(phone, what):
    answer = phone.post(f"/jar/fig/{what}", {"note": "x" * 70_000})
    assert answer.status_code == 413
    assert "more than this page can take" in one_sentence(answer)


def test_a_sound_and_the_rows_of_a_sensor_have_sizes(phone, monkeypatch):
    monkeypatch.setattr(module, "LARGEST_SOUND", 100_000)
    sound = {"sound": (b"x" * 200_000, "fig.wav")}
    from io import BytesIO

    sound = {"sound": (BytesIO(b"x" * 200_000), "fig.wav")}
    assert phone.post("/jar/fig/listen", sound).status_code == 413
    rows = json.dumps([{"note": "x" * (1 << 20)}])
    answer = phone.post("/jar/fig/rows", rows, content_type="application/json")
    assert answer.status_code == 413
    assert answer.json["error"] == "That is more than this page can take at once."


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        ("[", "application/json", 400),
        ("[]", "text/plain", 415),
        ("count=1", "application/x-www-form-urlencoded", 415),
    ],
)
def test_rows_come_as_json(phone, body, kind, status):
    answer = phone.post("/jar/fig/rows", body, content_type=kind)
    assert answer.status_code == status
    one_sentence(answer)


def test_bytes_that_are_no_text_are_an_entry_like_any_other(phone):
    answer = phone.post(
        "/jar/fig/tally",
        b"count=%ff%fe&key=0123456789abcdef",
        content_type="application/x-www-form-urlencoded",
    )
    assert answer.status_code == 400


# --- faults of our own ---------------------------------------------------------------------------


def test_a_fault_of_ours_is_a_sentence_on_the_phone_and_a_line_in_the_terminal(
    pages, monkeypatch, capsys
):
    phone = Phone(pages)

    def broken(*args, **options):
        raise ZeroDivisionError("\x1b[2J by zero")

    monkeypatch.setattr("bubblerate.page.pages.shelf_at", broken)
    answer = phone.get("/")
    assert answer.status_code == 500
    assert "What was written stays written" in one_sentence(answer)
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "ZeroDivisionError: ?[2J by zero, at " in told


@pytest.mark.parametrize("path", ["/", "/nothing", "/jar/none"])
def test_a_program_that_asks_is_told_in_json(stranger, path):
    answer = stranger.get(path, Accept="application/json")
    assert answer.status_code == 403
    assert [*answer.json] == ["error"]


def test_the_address_of_a_refused_form_leads_back_to_its_jar(phone):
    answer = phone.get("/jar/fig/tally")
    assert (answer.status_code, answer.location) == (302, "/jar/fig")


def test_the_calendar_may_be_fetched_by_its_key_and_nothing_else_by_it(phone, stranger):
    address = re.search(r'href="(http[^"]+calendar[^"]+)"', phone.get("/").text)[1]
    path = address.removeprefix(ORIGIN)
    answer = stranger.get(path)
    assert answer.status_code == 200
    assert answer.mimetype == "text/calendar"
    assert answer.text.startswith("BEGIN:VCALENDAR")
    assert stranger.get("/calendar.ics").status_code == 403
    assert stranger.get(path.replace("/calendar.ics", "/")).status_code == 403
    assert stranger.get(path[:-1]).status_code == 403
    assert hidden(phone.get("/jar/fig").text, "tally")["key"]  # forms have keys of their own
    assert HOST in address
