import pytest

from bubblerate.diary.counts import counted
from bubblerate.errors import InputError


@pytest.mark.parametrize(
    ("text", "bubbles", "seconds"),
    [
        ("12", 12, 60),
        ("none", 0, 60),
        ("12 in 90s", 12, 90),
        ("12 bubbles in 1:30", 12, 90),
        ("12 over 5 min", 12, 300),
        ("12 in a minute", 12, 60),
        ("None in 5m", 0, 300),
        ("one every 55s", 1, 55),
        ("every 55", 1, 55),
        ("1 every 2 min", 1, 120),
        ("one every minute", 1, 60),
        ("one in 20 min", 1, 1200),
        ("3/min", 3, 60),
        ("3 a minute", 3, 60),
        ("8.0 a minute", 8, 60),
        ("3.2/min", 3, 56.25),
        ("3,2 per min", 3, 56.25),
        ("0.25 a minute", 1, 240),
        ("0/min", 0, 60),
    ],
)
def test_a_count_is_understood_as_it_is_said(text, bubbles, seconds):
    assert counted(text) == (bubbles, seconds)


@pytest.mark.parametrize("tenths", range(1, 300, 7))
def test_a_rate_is_kept_and_weighs_no_more_than_a_minute_or_one_bubble(tenths):
    bubbles, seconds = counted(f"{tenths / 10}/min")
    assert 60.0 * bubbles / seconds == pytest.approx(tenths / 10, rel=1e-3)
    assert bubbles == 1 or seconds < 100.0


@pytest.mark.parametrize(
    ("text", "advice"),
    [
        ("twelve", "write 12 in 90s, one every 55s, none in 5m or 3.2/min"),
        ("3.2", "write 32 in 10m, or 3.2/min"),
        ("12 in soon", "write 55s, 5m or 1m30s"),
        ("every now and then", "write 55s, 5m or 1m30s"),
        ("l2 in 90s", "write 12"),
        ("9999999", "more bubbles than anyone can count"),
        ("0.0001/min", "not a possible bubble rate"),
        ("\x1b[A", "write 12 in 90s"),
        ("?", "write 12 in 90s"),
    ],
)
def test_what_is_no_count_is_refused_with_what_would_do(text, advice):
    with pytest.raises(InputError) as refusal:
        counted(text)
    assert advice in str(refusal.value)
