"""What a person sees and enters on the pages."""

import os
import re
import shutil
import sys
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.reading import read
from bubblerate.diary.shelf import shelf_at
from bubblerate.diary.visit import Visit
from bubblerate.show.verdict_text import told

from phones import COUNTS, NOW, ORIGIN, Phone, hidden, pages_of, shelf_in, shown
from scenes import EXAMPLES

ROWS = len(COUNTS) + 1


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    """What follows takes the most time to work out, and is looked at in `test_views`."""
    monkeypatch.setattr("bubblerate.page.views.figures", lambda *_, **__: None)
    monkeypatch.setattr("bubblerate.page.views.after_lines", lambda *_: ())


@pytest.fixture
def folder(tmp_path):
    return shelf_in(tmp_path)


@pytest.fixture
def phone(folder):
    return Phone(pages_of(folder))


def rows(folder, jar="fig"):
    return read(folder / f"{jar}.csv").visits


# --- looking -------------------------------------------------------------------------------------


def test_the_shelf_has_a_line_for_each_jar_that_leads_to_it(phone):
    page = phone.get("/")
    assert re.findall(r'href="(/jar/[^"]+)"', page.text) == ["/jar/fig", "/jar/old%20plum"]
    assert "fig fermenting. Rack it? WAIT today: count" in shown(page.text)
    assert phone.get("/jar/old%20plum").status_code == 200


def test_a_jar_says_what_verdict_says(phone, folder):
    page = shown(phone.get("/jar/fig").text)
    known = shelf_at(folder).open("fig")
    judged = judge(known.diary, at=NOW, settings=known.settings)
    for word, text in told(judged):
        assert f"{word} {text}" in page
    assert "Rack it? Not yet." in page
    assert "fermenting, day 19" in page


def test_a_note_that_mentions_sugar_is_answered_by_a_button(phone, folder):
    at = NOW - timedelta(days=1)
    shelf_at(folder).write("fig", Visit(when=at, bubbles=3, note="honey added"), now=NOW)
    page = phone.get("/jar/fig").text
    assert "mentions sugar, but notes are not used in the sums: did you feed it?" in shown(page)
    assert "Answer fed or not-fed below." in shown(phone.get("/evening?jar=fig").text)
    sent = phone.post("/jar/fig/event", hidden(page, "event") | {"event": "not-fed"})
    assert sent.status_code == 303
    assert (rows(folder)[-1].event, rows(folder)[-1].when) == ("not-fed", at)
    assert "mentions sugar" not in shown(phone.get("/jar/fig").text)


def test_the_cellar_has_every_wine_in_bottle(phone, folder):
    assert "No wine is in bottles yet" in phone.get("/cellar").text
    row = Visit(when=NOW, event="bottled", bottles="6x75", closure="cork")
    shelf_at(folder).write("old plum", row, now=NOW)
    page = phone.get("/cellar")
    assert "6 of 6x75 cl" in shown(page.text)
    assert 'href="/jar/old%20plum"' in page.text
    assert 'href="/cellar"' in phone.get("/").text


def test_a_jar_whose_step_has_a_guide_shows_it(tmp_path):
    shelf_at(tmp_path).begin("fig", Visit(when=NOW, event="pitched", sg=1.085), now=NOW)
    page = shown(Phone(pages_of(tmp_path)).get("/jar/fig").text)
    assert "How to do it" in page
    assert "12 to 72 hours from adding the yeast to the first bubbles" in page


def test_an_empty_shelf_says_how_to_begin(tmp_path):
    phone = Phone(pages_of(tmp_path))
    assert "bubblerate start" in phone.get("/").text
    assert "There is no wine in any jar on the shelf" in phone.get("/evening").text
    assert phone.get("/calendar.ics").status_code == 400


def test_a_diary_that_cannot_be_read_says_why_and_takes_a_count_all_the_same(phone, folder):
    with (folder / "fig.csv").open("a") as file:
        file.write("yesterday,1,60,,,,,,,,\n")
    for path in ("/", "/jar/fig", "/evening"):
        assert "fig.csv:5" in phone.get(path).text
    assert phone.get("/jar/fig/picture.svg").status_code == 404
    assert "old plum" in phone.get("/calendar.ics").text
    answer = phone.enters("fig", "tally", count="12")
    assert "Line 6" in answer.text


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="has no such names")
def test_a_name_that_cannot_be_shown_costs_no_other_jar(phone, folder):
    for name in (b"a\xffb.csv", "a\u202eb.csv".encode(), b"a\nb.csv"):
        shutil.copy(folder / "fig.csv", os.fsdecode(bytes(folder) + b"/" + name))
    page = phone.get("/")
    assert page.status_code == 200
    assert "a?b.csv: its name has characters that cannot be shown" in shown(page.text)
    assert "fig 1 of 2" in shown(phone.get("/evening").text)
    assert phone.get("/calendar.ics").status_code == 200


def test_settings_that_cannot_be_read_stop_an_answer_and_no_count(phone, folder):
    (folder / "bubblerate.toml").write_text("[threshold]\nper_min = 'one'\n")
    for path in ("/", "/jar/fig", "/evening"):
        page = phone.get(path)
        assert page.status_code == 200
        assert "bubblerate.toml" in page.text
    assert "Line 5" in phone.enters("fig", "tally", count="12").text


def test_the_picture_is_the_one_of_the_commands(phone):
    answer = phone.get("/jar/fig/picture.svg")
    assert answer.mimetype == "image/svg+xml"
    assert answer.data.lstrip().startswith(b"<?xml")
    assert b"<script" not in answer.data


def test_what_is_written_is_shown_as_text(folder):
    path = folder / "fig.csv"
    path.write_text(
        path.read_text() + "2026-10-10T21:00:00+00:00,9,60,,,,,,,<script>alert(1)</script>,\n"
    )
    shelf_in(folder, "a'b & c")
    phone = Phone(pages_of(folder))
    page = phone.get("/jar/fig").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
    assert phone.get("/jar/a%27b%20%26%20c").status_code == 200


# --- entering ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("what", "fields", "said"),
    [
        (
            "tally",
            {"count": "12 in 90s", "temp": "18.5"},
            "fig: 12 in 90 s = 8.0 a minute, 18.5 C, on 20 Oct 2026 21:00. Line 5.",
        ),
        (
            "gravity",
            {"gravity": "1004 at 17C"},
            "fig: sampled, gravity 1.004 at 17 C, on 20 Oct 2026 21:00. Line 5.",
        ),
        ("event", {"event": "stirred"}, "fig: stirred, on 20 Oct 2026 21:00. Line 5."),
        (
            "tally",
            {"count": "5", "when": "yesterday 9pm", "note": "by lamp"},
            'fig: 5 in 1 min = 5.0 a minute, "by lamp", on 19 Oct 2026 21:00. Line 5.',
        ),
    ],
)
def test_each_entry_is_said_back_and_can_be_taken_back(phone, folder, what, fields, said):
    answer = phone.enters("fig", what, **fields)
    assert answer.status_code == 200
    assert said in shown(answer.text)
    assert 'role="status"' in answer.text
    assert len(rows(folder)) == ROWS + 1
    taken = phone.post("/jar/fig/strike", hidden(answer.text, "strike"), follow_redirects=True)
    assert "fig: struck line 5" in shown(taken.text)
    assert rows(folder)[-1].struck or rows(folder)[-2].struck


def test_a_doubt_is_asked_beside_the_entry(phone):
    page = shown(phone.enters("fig", "gravity", gravity="1.190").text)
    assert "Is that right? 1.190 is outside the range of wine" in page


def test_the_form_has_one_field_called_count_and_the_key_of_the_entry(phone):
    page = phone.get("/jar/fig").text
    form = re.search(r'<form method="post" action="/jar/fig/tally".*?</form>', page, re.DOTALL)[0]
    assert form.count('name="count"') == 1
    assert re.search(r'<input type="text" [^>]*name="count"', form)
    first, second = (hidden(phone.get("/jar/fig").text, "tally")["key"] for _ in range(2))
    assert first != second


def test_the_same_form_sent_twice_is_one_row(phone, folder):
    fields = phone.fills("/jar/fig", "tally", count="12")
    for _ in range(3):
        assert phone.post("/jar/fig/tally", fields).status_code == 303
    assert len(rows(folder)) == ROWS + 1


@pytest.mark.parametrize("path", ["/jar/fig", "/evening"])
def test_a_refused_entry_answers_400_with_the_sentence_and_keeps_what_was_typed(
    phone, folder, path
):
    fields = phone.fills(path, "tally", count='twelve "or" so', temp="18")
    answer = phone.post("/jar/fig/tally", fields)
    assert answer.status_code == 400
    page = unescape(answer.text)
    assert "write 12 in 90s, one every 55s, none in 5m or 3.2/min" in page
    assert 'value="twelve "or" so"' in page
    assert 'value="18"' in page
    assert len(rows(folder)) == ROWS
    assert hidden(answer.text, "tally")["key"] != fields["key"]


@pytest.mark.parametrize(
    ("what", "fields"),
    [("tally", {"count": "12"}), ("gravity", {"gravity": "1.010"}), ("event", {"event": "fed"})],
)
def test_a_form_without_its_key_writes_nothing(phone, folder, what, fields):
    answer = phone.post(f"/jar/fig/{what}", fields)
    assert answer.status_code == 400
    assert "open the page again" in answer.text
    assert len(rows(folder)) == ROWS


def test_a_script_is_answered_in_json(phone):
    fields = phone.fills("/jar/fig", "tally", count="700", ago="60")
    headers = {"Origin": ORIGIN, "Accept": "application/json"}
    answer = phone.post("/jar/fig/tally", fields, headers=headers)
    assert answer.json["said"][0].endswith("on 20 Oct 2026 20:59. Line 5.")
    assert answer.json["said"][1].startswith("Is that right?")
    assert answer.json["see"].startswith("/jar/fig?said=")
    again = phone.post("/jar/fig/tally", {**fields, "ago": "90"}, headers=headers)
    assert again.json == answer.json
    refused = phone.post("/jar/fig/tally", fields | {"count": "x"}, headers=headers)
    assert refused.status_code == 400
    assert "cannot read" in refused.json["error"]


def test_what_is_seen_is_a_button(folder):
    shelf_in(folder, "fig")
    phone = Phone(pages_of(folder, clock=lambda: NOW + timedelta(days=12)))
    page = phone.get("/jar/fig").text
    assert '<button name="event" value="clear">' in page
    assert "fig: clear, on" in shown(phone.enters("fig", "event", event="clear").text)


def test_a_jar_that_is_gone_is_no_longer_a_page(phone, folder):
    fields = phone.fills("/jar/fig", "tally", count="12")
    (folder / "fig.csv").rename(folder / "elsewhere.txt")
    assert phone.post("/jar/fig/tally", fields).status_code == 404
    assert phone.get("/jar/fig").status_code == 404
    assert phone.get("/").status_code == 200


# --- the evening ---------------------------------------------------------------------------------


def test_the_evening_goes_from_jar_to_jar_and_ends_at_the_shelf(phone, folder):
    page = phone.get("/evening").text
    assert "fig 1 of 2" in shown(page)
    assert "last 34 in 1 min = 34 a minute" in shown(page)
    fields = {**hidden(page, "tally"), "count": "12", "temp": "18", "gravity": "1.020", "event": ""}
    second = phone.post("/jar/fig/tally", fields, follow_redirects=True)
    assert "old plum 2 of 2" in shown(second.text)
    assert "fig: sampled, 12 in 1 min = 12 a minute, gravity 1.020, 18 C" in shown(second.text)
    last = {**hidden(second.text, "tally"), "count": "11"}
    shelf = phone.post("/jar/old%20plum/tally", last, follow_redirects=True)
    assert shelf.request.path == "/"
    assert "old plum: 11 in 1 min" in shown(shelf.text)
    assert [len(rows(folder, jar)) for jar in ("fig", "old plum")] == [ROWS + 1] * 2


def test_what_is_taken_back_on_the_walk_is_asked_again(phone):
    fields = {**hidden(phone.get("/evening").text, "tally"), "count": "12"}
    second = phone.post("/jar/fig/tally", fields, follow_redirects=True)
    back = phone.post("/jar/fig/strike", hidden(second.text, "strike"), follow_redirects=True)
    assert "fig: struck line 5" in shown(back.text)
    assert "fig 1 of 2" in shown(back.text)


def test_a_jar_may_be_left_out(phone):
    page = phone.get("/evening").text
    assert 'href="/evening?jar=old+plum"' in page
    assert "old plum 2 of 2" in shown(phone.get("/evening?jar=old+plum").text)
    assert "fig 1 of 2" in shown(phone.get("/evening?jar=none").text)


def test_a_bottled_jar_is_not_walked_to(phone, folder):
    phone.enters("fig", "event", event="bottled", bottles="6x75cl")
    assert "old plum 1 of 1" in shown(phone.get("/evening").text)
    assert "STOP" in phone.get("/jar/fig").text
    assert "STOP" in phone.get("/").text


def test_a_wine_in_bottle_is_opened_and_not_counted_and_its_size_is_chosen(tmp_path):
    shutil.copy(EXAMPLES / "medlar.csv", tmp_path / "fig.csv")
    late = datetime(2026, 11, 17, 21, tzinfo=UTC)
    row = Visit(when=late, event="bottled", bottles="5x75+1x37.5", closure="cork")
    shelf_at(tmp_path).write("fig", row, now=late)
    phone = Phone(pages_of(tmp_path, clock=lambda: late + timedelta(days=9)))
    page = phone.get("/jar/fig").text
    assert "Count the bubbles" not in page
    assert "Let the phone listen" not in page
    assert "From jar to jar" not in page
    assert re.findall(r'name="size" value="([^"]+)"', page) == ["75cl", "37.5cl"]
    said = {**hidden(page, "event"), "event": "opened", "size": "37.5cl", "note": "tart"}
    answer = phone.post("/jar/fig/event", said, follow_redirects=True)
    assert "fig: opened, 1x37.5 cl" in shown(answer.text)
    assert "write it again with its size" not in shown(answer.text)
    assert 'name="size" value' not in answer.text  # one size is left


def test_doses_go_in_with_what_was_done(phone, folder):
    phone.enters("fig", "event", event="stabilised", sulphite="1 tablet", sorbate="1 g")
    assert (rows(folder)[-1].sulphite_g, rows(folder)[-1].sorbate_g) == (0.44, 1.0)
    answer = phone.enters("fig", "event", event="sulphited", sulphite="1")
    assert "grams or tablets" in answer.text
