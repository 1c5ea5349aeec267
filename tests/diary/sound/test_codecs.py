"""Compressed sound, written by libsndfile's own coders: as many bubbles as in the WAV."""

import shutil
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from bubblerate.diary.sound import codecs
from bubblerate.diary.sound.bubbles import listen
from bubblerate.diary.sound.files import blocks, opened
from bubblerate.diary.sound.pulses import loudness
from bubblerate.errors import InputError

from bench.sound import sounds

KINDS = {
    "jar.flac": ("FLAC", "PCM_16"),
    "jar.ogg": ("OGG", "VORBIS"),
    "jar.opus": ("OGG", "OPUS"),
    "jar.mp3": ("MP3", "MPEG_LAYER_III"),
}


@pytest.fixture(scope="module")
def take():
    return sounds.airlock(62, seconds=60.0, per_min=15.0, snr_db=20.0, rate_hz=48_000)


@pytest.fixture(scope="module", params=KINDS)
def coded(request, take, tmp_path_factory):
    """A made-up take in one of the codecs."""
    path = tmp_path_factory.mktemp("coded") / request.param
    form, codec = KINDS[request.param]
    with soundfile.SoundFile(path, "w", take.rate_hz, 1, codec, format=form) as file:
        for second in np.split(take.wave, 60):  # all at once is too much for the coder's stack
            file.write(second)
    return path


@pytest.fixture
def jar(coded, tmp_path):
    """The file in a folder of its own."""
    return Path(shutil.copy(coded, tmp_path))


def refusal(act, *args) -> str:
    with pytest.raises(InputError) as caught:
        act(*args)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_a_codec_changes_the_count_by_one_at_most(jar, take, tmp_path):
    plain = listen(sounds.saved(tmp_path / "plain.wav", take))
    heard = listen(jar)
    assert plain.bubbles == pytest.approx(len(take.onsets_s), abs=1)
    assert heard.bubbles == pytest.approx(plain.bubbles, abs=1)
    assert heard.seconds == pytest.approx(60.0, abs=0.1)
    assert heard.trusted, heard.why
    assert jar.stat().st_size < (tmp_path / "plain.wav").stat().st_size


def test_the_name_of_a_file_does_not_matter_and_blocks_neither(jar):
    other = jar.rename(jar.with_name("voice memo.bin"))
    assert len(loudness(other)[0]) > 100
    sound = opened(other)
    parts = [len(block) for block in blocks(sound, seconds=0.7)]
    assert sum(parts) == pytest.approx(sound.frames, abs=0.1 * sound.rate_hz)
    assert listen(other, block_s=0.7) == listen(other)


def test_without_the_library_one_line_says_what_to_install(jar, monkeypatch):
    monkeypatch.setitem(sys.modules, "soundfile", None)
    assert refusal(listen, jar) == (
        f"{jar.name}: is compressed sound; to read it, install soundfile "
        '(pip install "bubblerate[sound]"), or export it as WAV'
    )


def test_half_a_file_is_refused_or_counted_for_as_long_as_it_is(jar):
    data = jar.read_bytes()
    jar.write_bytes(data[: len(data) // 2])
    said = ""
    try:
        assert listen(jar).seconds == pytest.approx(30.0, abs=5.0)
    except InputError as err:
        said = str(err)
    assert said == "" or "copy it from the phone again" in said


@pytest.mark.parametrize("head", [b"fLaC", b"OggS", b"ID3\4", b"\xff\xfb\x90\x00"])
def test_what_only_begins_like_sound_gets_one_line(head, tmp_path, capfd):
    path = tmp_path / "jar.ogg"
    path.write_bytes(head + bytes(range(256)) * 20)
    assert refusal(listen, path).startswith("jar.ogg: ")
    assert capfd.readouterr() == ("", "")  # the decoder prints nothing of its own


def test_sound_of_a_phone_in_an_mp4_gets_a_clear_line(tmp_path):
    path = tmp_path / "jar.m4a"
    path.write_bytes(b"\0\0\0\x20ftypM4A " + bytes(500))
    assert refusal(listen, path) == (
        "jar.m4a: is compressed sound; open it in any sound editor and export it as WAV, "
        'or: ffmpeg -i "jar.m4a" "jar-plain.wav"'
    )


def test_more_channels_than_two_are_refused(tmp_path):
    path = tmp_path / "jar.flac"
    soundfile.write(path, np.zeros((8_000, 4)), 8_000)
    assert refusal(opened, path) == "jar.flac: has 4 channels; export it as mono or stereo"


def test_aac_without_a_box_is_not_taken_for_mp3():
    assert not codecs.is_coded(b"\xff\xf1\x50\x80")
    assert codecs.is_coded(b"\xff\xfb\x90\x00")
