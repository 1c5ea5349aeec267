"""What is said of one jar is written so that all else in the file stays, byte for byte."""

import tomllib

import pytest

from bubblerate.diary import settings_writing
from bubblerate.diary.safe_write import put
from bubblerate.diary.settings_file import settings
from bubblerate.diary.settings_writing import said_of_another, say_of
from bubblerate.errors import ConfigError, DiaryError

MINE = b"""# of my own
[hydrometer]   # the long one
offset = 0.002

[vessel.plum]
# what I hope for
finish = 0.994 # dry
litres = 4.5
[vessel."damson 2"]
style = 'damson wine'
[threshold]
per_min = 1
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "bubblerate.toml"
    path.write_bytes(MINE)
    return path


def test_a_value_is_changed_in_its_place_and_its_comment_stays(file):
    now = say_of(file.parent, "plum", {"finish": 0.997})
    assert (now.finish, now.litres) == (0.997, 4.5)
    assert file.read_bytes() == MINE.replace(b"0.994", b"0.997")


def test_a_key_is_added_to_its_jar_and_a_jar_to_the_file(file):
    say_of(file.parent, "plum", {"ph": 3.4})
    say_of(file.parent, "old fig", {"style": "fig wine", "full_litres": 4.6})
    kept = [line for line in MINE.splitlines() if line]
    new = file.read_bytes().splitlines()
    assert [line for line in new if line in kept] == kept
    found = settings(file.parent)
    assert found.vessel("plum").ph == 3.4
    assert (found.vessel("old fig").style, found.vessel("old fig").full_litres) == ("fig wine", 4.6)
    assert found.hydrometer.offset == 0.002


def test_a_key_is_taken_out(file):
    assert say_of(file.parent, "plum", {"finish": None, "ph": None}).finish is None
    assert file.read_bytes() == MINE.replace(b"finish = 0.994 # dry\n", b"")


@pytest.mark.parametrize("text", ["", "# nothing yet\n", "[vessel]\nfig = {litres = 3}\n"])
def test_any_layout_is_added_to(tmp_path, text):
    (tmp_path / "bubblerate.toml").write_text(text)
    for name in ("fig", "plum"):
        say_of(tmp_path, name, {"style": "perry"})
    found = tomllib.loads((tmp_path / "bubblerate.toml").read_text())["vessel"]
    assert (found["fig"]["style"], found["plum"]["style"]) == ("perry", "perry")
    assert found["fig"].get("litres", 3) == 3


DOTTED = {
    "from the top": """# mine
vessel.fig.style = "fig wine" # said
vessel.fig.ph = 3.4 # by strips

[hydrometer]
offset = 0.001 # the long one
""",
    "parted": """vessel.fig.style = "fig wine" # said
hydrometer.offset = 0.001 # the long one
vessel.quince.ph = 3.4 # by strips
""",
    "in a table": """[vessel] # jars
fig.style = "fig wine" # said
quince.ph = 3.4 # by strips
[hydrometer]
offset = 0.001 # the long one
""",
    "with blanks, in quotes": """vessel . fig . style = "fig wine" # said
vessel."fig".ph = 3.4 # by strips
[hydrometer] # the long one
""",
    "inline": """vessel = { fig = { style = "fig wine" }, quince = { ph = 3.4 } } # jars
""",
}


@pytest.mark.parametrize("layout", sorted(DOTTED))
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_dotted_keys_are_changed_where_they_stand_and_comments_stay(tmp_path, layout, ends):
    was = DOTTED[layout]
    path = tmp_path / "bubblerate.toml"
    path.write_bytes(was.replace("\n", ends).encode())
    assert settings(tmp_path).vessel("fig").style == "fig wine"
    say_of(tmp_path, "fig", {"style": "perry", "full_litres": 4.6})
    say_of(tmp_path, "old plum", {"finish": 0.994})
    say_of(tmp_path, "fig", {"style": None})
    text = path.read_bytes().decode()
    assert text.count("\n") == text.count(ends)
    kept = [
        line.partition("#")[2] for line in was.splitlines() if "#" in line and "said" not in line
    ]
    assert all(f"#{comment}" in text for comment in kept)
    found, before = settings(tmp_path), tomllib.loads(was)
    assert (found.vessel("fig").full_litres, found.vessel("fig").style) == (4.6, None)
    assert found.vessel("old plum").finish == 0.994
    phs = {name: own["ph"] for name, own in before["vessel"].items() if "ph" in own}
    assert {name: found.vessel(name).ph for name in phs} == phs
    assert tomllib.loads(text).get("hydrometer") == before.get("hydrometer")


@pytest.mark.parametrize("layout", sorted(DOTTED))
def test_what_is_said_in_dotted_keys_is_said_of_another_jar(layout):
    was = DOTTED[layout].encode()
    new = said_of_another(was, "fig", "fig-2", leave_out=["ph"])
    assert new.count(b"#") == was.count(b"#")
    vessels = tomllib.loads(was.decode())["vessel"]
    assert tomllib.loads(new.decode())["vessel"] == {**vessels, "fig-2": {"style": "fig wine"}}
    assert said_of_another(new, "fig", "fig-2", leave_out=[]) is None


def test_a_file_is_begun_where_there_is_none(tmp_path):
    say_of(tmp_path, "fig", {"style": "perry"})
    assert (tmp_path / "bubblerate.toml").read_text() == '[vessel.fig]\nstyle = "perry"\n'


def test_line_ends_and_the_mark_before_the_text_stay(tmp_path):
    path = tmp_path / "bubblerate.toml"
    path.write_bytes(b"\xef\xbb\xbf[vessel.fig]\r\nlitres = 3\r\n")
    say_of(tmp_path, "fig", {"ph": 3.5})
    assert path.read_bytes() == b"\xef\xbb\xbf[vessel.fig]\r\nlitres = 3\r\nph = 3.5\r\n"


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ({"ph": 34.0}, "vessel.plum.ph is 34.0; write a pH"),
        ({"style": " "}, "vessel.plum.style"),
        ({"colour": "red"}, "vessel.plum.colour is not a known key"),
    ],
)
def test_a_value_that_will_not_do_is_refused_and_nothing_is_changed(file, said, message):
    with pytest.raises(ConfigError, match=message):
        say_of(file.parent, "plum", said)
    assert file.read_bytes() == MINE


def test_a_file_that_cannot_be_read_is_left_alone(file):
    file.write_bytes(MINE + b"[keeping]\nracking = 3\n")
    with pytest.raises(ConfigError, match="racking is not a known key"):
        say_of(file.parent, "plum", {"ph": 3.4})
    assert file.read_bytes().endswith(b"racking = 3\n")


def test_a_bad_key_of_the_jar_is_no_hindrance_to_another(file):
    file.write_bytes(MINE.replace(b"litres", b"liters"))
    assert say_of(file.parent, "plum", {"ph": 3.4}).ph == 3.4


def test_a_change_that_would_touch_more_is_refused(file, monkeypatch):
    monkeypatch.setattr(settings_writing, "_put_in", lambda document, *_: document.pop("threshold"))
    with pytest.raises(ConfigError, match="cannot be changed safely"):
        say_of(file.parent, "plum", {"ph": 3.4})
    assert file.read_bytes() == MINE


def test_what_another_program_saved_meanwhile_is_not_written_over(file, monkeypatch):
    def late(*given, **more):
        file.write_bytes(b"# saved by an editor\n")
        put(*given, **more)

    monkeypatch.setattr("bubblerate.diary.settings_writing.put", late)
    with pytest.raises(DiaryError, match="changed by another program"):
        say_of(file.parent, "plum", {"ph": 3.4})
    assert file.read_bytes() == b"# saved by an editor\n"
