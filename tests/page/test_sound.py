import re
from io import BytesIO

import numpy as np
import pytest

from bubblerate.diary.reading import read
from bubblerate.errors import InputError
from bubblerate.page.sound import listened

from bench.sound import sounds
from phones import NOW, Phone, hidden, pages_of, shelf_in, shown


@pytest.fixture(scope="module")
def airlock():
    """Half a minute of an airlock, and how often it bubbles."""
    take = sounds.airlock(3, seconds=30.0, per_min=30.0)
    return sounds.wav_bytes(take.wave, take.rate_hz), len(take.onsets_s)


def test_a_sound_is_counted_as_the_command_does(airlock):
    data, bubbles = airlock
    heard = listened(BytesIO(data), "quince.wav")
    assert heard.count == f"{bubbles} in 30s"
    assert heard.text[0].startswith(f"quince.wav: {bubbles} in 30 s = ")


def test_a_sound_that_tells_nothing_offers_nothing():
    rng = np.random.default_rng(1)
    noise = sounds.wav_bytes(0.1 * rng.standard_normal(16_000 * 10), 16_000)
    heard = listened(BytesIO(noise), "a/../../b\x1b.wav")
    assert heard.count == ""
    assert "Cannot tell" in heard.text[1]
    assert heard.text[0].startswith("a_.._.._b.wav: ")


@pytest.mark.parametrize("name", ["", "..", "/", "x" * 300, "\udcff"])
def test_what_is_no_sound_is_refused_whatever_it_is_called(name):
    with pytest.raises(InputError) as refused:
        listened(BytesIO(b"no sound at all"), name)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 300


def test_what_was_heard_is_written_only_when_the_person_says_so(tmp_path, airlock):
    data, bubbles = airlock
    folder = shelf_in(tmp_path)
    phone = Phone(pages_of(folder))
    answer = phone.post("/jar/fig/listen", {"sound": (BytesIO(data), "fig.wav")})
    assert answer.status_code == 200
    assert f"fig.wav: {bubbles} in 30 s" in shown(answer.text)
    assert len(read(folder / "fig.csv").visits) == 3
    done = phone.post("/jar/fig/tally", hidden(answer.text, "tally"), follow_redirects=True)
    assert re.search(rf"fig: {bubbles} in 30 s .* on 20 Oct 2026 20:59", shown(done.text))


@pytest.mark.parametrize("sound", [None, (BytesIO(b""), ""), (BytesIO(b"x"), "fig.m4a")])
def test_without_a_sound_it_says_what_is_wanted(tmp_path, sound):
    phone = Phone(pages_of(shelf_in(tmp_path), clock=lambda: NOW))
    answer = phone.post("/jar/fig/listen", {} if sound is None else {"sound": sound})
    assert answer.status_code == 400
    assert re.search("choose a sound file|WAV", answer.text)
