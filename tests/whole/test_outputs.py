"""A picture or a calendar is written whole, or what was there stays; and never over a diary."""

import os
import stat

import pytest

from bubblerate.diary.safe_write import save_output
from bubblerate.errors import InputError

from scenes import Said

resource = pytest.importorskip("resource")  # of POSIX
WRITERS = {
    "plot": (("plot", "quince", "-o"), (".png", ".svg", ".pdf")),
    "residuals": (("plot", "quince", "--show", "residuals", "-o"), (".png",)),
    "label": (("label", "quince", "-o"), (".svg", ".pdf")),
    "shelf": (("shelf", "-o"), (".png",)),
    "calendar": (("after", "quince", "--ics"), (".ics",)),
}
ALL = [(words, suffix) for words, suffixes in WRITERS.values() for suffix in suffixes]
NAMES = [f"{name}{suffix}" for name, (_, suffixes) in WRITERS.items() for suffix in suffixes]
OLD = b"what was there\n" * 1000


def asked(run, jars, words, output) -> Said:
    return run(*words, str(output), "--shelf", str(jars))


def one_line(said) -> str:
    assert said.code == 2
    lines = said.err.splitlines()
    assert len(lines) == 1
    assert "Traceback" not in said.err
    return lines[0]


@pytest.fixture
def full_disk(monkeypatch):
    """A disk with room for 1 kB, as the operating system limits it."""
    write = os.write

    def short(handle, data):
        return write(handle, bytes(data)[:1024])

    monkeypatch.setattr("bubblerate.diary.safe_write.os.write", short)


@pytest.mark.parametrize(("words", "suffix"), ALL, ids=NAMES)
def test_a_full_disk_leaves_the_old_file_whole(run, jars, full_disk, words, suffix):
    output = jars / f"old{suffix}"
    output.write_bytes(OLD)
    before = sorted(jars.iterdir())
    assert "No space left on device; the old file is unchanged" in one_line(
        asked(run, jars, words, output)
    )
    assert output.read_bytes() == OLD
    assert sorted(jars.iterdir()) == before


@pytest.mark.parametrize("suffix", [".png", ".pdf"])
def test_the_limit_of_the_system_itself_is_one_line(run, jars, suffix):
    output = jars / f"old{suffix}"
    output.write_bytes(OLD[:500])
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1024, hard))  # Python ignores the signal of it
    try:
        said = asked(run, jars, ("plot", "quince", "-o"), output)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert "cannot be written" in one_line(said)
    assert output.read_bytes() == OLD[:500]


@pytest.mark.parametrize("kept", ["quince.csv", "bubblerate.toml"])
@pytest.mark.parametrize(("words", "suffix"), ALL, ids=NAMES)
def test_a_link_to_a_diary_or_the_settings_is_refused(run, jars, words, suffix, kept):
    before = (jars / kept).read_bytes()
    link = jars / f"link{suffix}"
    link.symlink_to(kept)
    assert f"is a link to {kept}; name another file" in one_line(asked(run, jars, words, link))
    assert (jars / kept).read_bytes() == before
    assert link.is_symlink()


@pytest.mark.parametrize(("words", "suffix"), ALL, ids=NAMES)
def test_a_second_name_of_a_diary_parts_from_it(run, jars, words, suffix):
    before = (jars / "quince.csv").read_bytes()
    (jars / f"second{suffix}").hardlink_to(jars / "quince.csv")
    assert asked(run, jars, words, jars / f"second{suffix}").code == 0
    assert (jars / "quince.csv").read_bytes() == before


@pytest.mark.parametrize(("words", "suffix"), ALL, ids=NAMES)
def test_a_diary_by_its_own_name_is_refused(run, jars, words, suffix):
    for kept in ("quince.csv", "bubblerate.toml"):
        before = (jars / kept).read_bytes()
        one_line(asked(run, jars, words, jars / kept))
        assert (jars / kept).read_bytes() == before


@pytest.mark.parametrize(("words", "suffix"), ALL, ids=NAMES)
def test_a_pipe_and_a_folder_are_called_what_they_are(run, jars, words, suffix):
    os.mkfifo(jars / f"pipe{suffix}")
    (jars / f"folder{suffix}").mkdir()
    for name, why in (("pipe", "is a pipe or a device"), ("folder", "is a folder; name a file")):
        assert why in one_line(asked(run, jars, words, jars / f"{name}{suffix}"))


@pytest.mark.parametrize(("where", "why"), [("none/x.png", "No such file"), ("ring.png", "")])
def test_a_place_that_cannot_be_is_one_line(jars, where, why):
    (jars / "ring.png").symlink_to("ring.png")
    with pytest.raises(InputError, match=f"cannot be written: .*{why}"):
        save_output(jars / where, b"x")


def test_a_link_to_a_picture_and_its_mode_stay(jars):
    old = jars / "old.png"
    old.write_bytes(OLD)
    old.chmod(0o640)
    (jars / "link.png").symlink_to("old.png")
    save_output(jars / "link.png", b"new")
    assert old.read_bytes() == b"new"
    assert stat.S_IMODE(old.stat().st_mode) == 0o640
    assert (jars / "link.png").is_symlink()
