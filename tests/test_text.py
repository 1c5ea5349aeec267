from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bubblerate import text as words
from bubblerate.diary import units


@pytest.mark.parametrize(
    ("spell", "text"),
    [
        (90.0, "90 s"),
        (60.0, "1 min"),
        (300.0, "5 min"),
        (3600.0, "1 h"),
        (5400.0, "90 min"),
        (12.5, "12.5 s"),
        (86_400.0, "24 h"),
    ],
)
def test_a_spell_is_written_in_the_largest_unit_that_fits(spell, text):
    assert words.format_seconds(spell) == text


@given(st.floats(min_value=1.0, max_value=86_400.0))
def test_a_spell_written_out_reads_back_the_same(spell):
    assert units.seconds(words.format_seconds(spell)) == spell


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_plain_number_has_no_exponent_and_reads_back_the_same(value):
    text = words.plain(value)
    assert "e" not in text
    assert float(text) == value


@pytest.mark.parametrize(
    ("per_min", "text"),
    [
        (0.0, "0 a minute"),
        (8.0, "8.0 a minute"),
        (0.25, "0.25 a minute"),
        (0.1, "0.10 a minute"),
        (0.999, "1.0 a minute"),
        (9.96, "10 a minute"),
        (12.3, "12 a minute"),
        (0.0999, "one in 10 min"),
        (0.05, "one in 20 min"),
        (0.01, "one in 100 min"),
        (0.0099, "fewer than one in 100 min"),
        (1e-9, "fewer than one in 100 min"),
        (120.4, "120 a minute"),
    ],
)
def test_a_rate_is_written_to_about_two_digits(per_min, text):
    assert words.format_rate(per_min) == text


@pytest.mark.parametrize("per_min", [-1.0, float("nan")])
def test_a_rate_that_cannot_be_is_refused(per_min):
    with pytest.raises(ValueError, match="no such rate"):
        words.format_rate(per_min)


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (1.69, 2.51, "80 %: 1.7 to 2.5"),
        (8.2, 14.9, "80 %: 8.2 to 15"),
        (0.01, 0.04, "80 %: 0.01 to 0.04"),
        (84.9, 123.0, "80 %: 85 to 120"),
        (0.0099, 0.04, "80 %: below 0.04"),
        (0.0, 0.96, "80 %: below 1"),
        (0.0, 14.0, "80 %: below 10"),
        (0.0, 1e-9, "80 %: below 0.01"),
    ],
)
def test_an_interval_of_rates_gives_only_the_upper_end_where_the_lower_is_next_to_nothing(
    low, high, text
):
    assert words.format_rates(low, high) == text


@given(st.floats(0.0, 1e6), st.floats(0.0, 1e6))
def test_an_interval_of_rates_is_written_without_exponents(one, other):
    assert "e+" not in words.format_rates(min(one, other), max(one, other))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        (" 5 \n minutes ", '"5 minutes"'),
        ("\x1b[31mred", '"?[31mred"'),
        ("x" * 40, f'"{"x" * 40}"'),
        ("x" * 41, f'"{"x" * 37}..."'),
        ("", '""'),
    ],
)
def test_a_text_is_quoted_on_one_short_printable_line(text, shown):
    assert words.quoted(text) == shown


def test_a_date_is_written_in_english_and_in_its_own_offset():
    when = datetime(2026, 11, 5, 21, 30, tzinfo=timezone(timedelta(hours=9)))
    assert words.format_when(when) == "5 Nov 2026 21:30"
    assert words.format_day(when) == "5 Nov 2026"


@pytest.mark.parametrize("width", [20, 40, 60, 92])
def test_a_line_to_type_is_broken_only_where_it_has_no_room(width):
    line = 'bubblerate event fig fined --note "a b"'
    told = words.wrapped(f"Then write {words.unbroken(line)}, with more.", width, later="  ")
    assert " ".join(" ".join(told).split()) == f"Then write {line}, with more."
    assert max(map(len, told)) <= width
    assert any(line in row for row in told) is (width >= len(f"  {line},"))
