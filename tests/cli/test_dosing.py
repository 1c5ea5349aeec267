"""dose and guide, as a person types them."""

import re
import shlex
import shutil

import pytest

from scenes import EXAMPLES

AT = ("--at", "2026-11-16T22:00+00:00")


@pytest.fixture
def typed(run, tmp_path):
    shutil.copy(EXAMPLES / "medlar.csv", tmp_path)
    (tmp_path / "bubblerate.toml").write_text('[vessel.medlar]\nph = 3.4\nstyle = "plum wine"\n')

    def typing(*words, code=0):
        said = run(*words, "--shelf", str(tmp_path), *AT)
        assert code in (None, said.code), said.err
        return " ".join((said.out + said.err).split())

    return typing


def test_what_to_weigh_in_is_told_in_grams_and_tablets_with_its_sources(typed):
    text = typed("dose", "medlar", "stabilise")
    assert "26 to 40 mg/L free at pH 3.4" in text
    assert "tablets of 0.44 g" in text
    assert "g of potassium sorbate" in text
    assert "The packet and your local law come before all of this." in text
    assert "asthma" in text


def test_sulphite_alone_has_no_sorbate(typed):
    assert "sorbate" not in typed("dose", "medlar", "sulphite", "--ph", "3.2").replace(
        "event medlar", ""
    )


def test_sugar_for_a_wine_that_is_not_stabilised_says_so_first(typed):
    text = typed("dose", "medlar", "sweeten", "--to", "1010")
    assert text.startswith(
        "medlar: sweeten first It is not stabilised: the yeast will ferment this sugar"
    )


def test_what_was_put_in_before_is_said_with_what_is_not_known_of_it(typed, run, tmp_path):
    late = ("--when", "2026-11-16T21:55+00:00", "--shelf", str(tmp_path))
    run("event", "medlar", "sulphited", "--sulphite", "1 tablet", *late)
    run("event", "medlar", "stabilised", *late)
    text = typed("dose", "medlar", "stabilise")
    assert "added 59 (" in text  # 0.44 g x 0.576 / 4.3 L
    assert "mg/L of SO2 in all, bound or free" in text
    assert "sulphite went into medlar on 16 Nov 2026, but no amount was noted" in text
    assert "sorbate went into medlar" in text
    measured = typed("dose", "medlar", "sulphite", "--free", "30 mg/l")
    assert "30 of it already measured: 0.00 to 0.07 g" in measured
    assert "sorbate" not in measured
    assert "60 mg/L measured is enough" in typed("dose", "medlar", "sulphite", "--free", "60")
    for words in (["after", "medlar", "--all"], ["bottling-day", "medlar"]):
        assert "59 (" in typed(*words)


def test_more_sulphite_than_is_allowed_in_all_is_cautioned(typed, run, tmp_path):
    late = ("--when", "2026-11-16T21:55+00:00", "--shelf", str(tmp_path))
    for _ in range(3):
        run("event", "medlar", "sulphited", "--sulphite", "1 tablet", *late)
    text = typed("dose", "medlar", "sulphite")
    assert "200 is the most in fruit wine, cider, perry and mead" in text
    assert "Measure what is free first" in text


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["sulphite", "--free", "lots"], "--free"),
        (["sulphite", "--free", "999"], "from 0 to 200"),
        (["sparkle", "--bar", "2"], "bottles for still wine are not made for pressure"),
        (["sparkle", "--bottle", "beer"], "say how much pressure you want: --bar 2"),
        (["sparkle", "--bottle", "beer", "--bar", "4"], "said to hold 2.7 bar"),
        (["sweeten"], "say how sweet"),
        (["sweeten", "--to", "dry"], "a dry wine needs no sugar"),
        (["sweeten", "--to", "0.990"], "0.990 is not above it"),
        (["sulphite", "--ph", "sour"], "--ph"),
    ],
)
def test_what_would_do_harm_or_cannot_be_read_is_one_line(typed, words, why):
    assert why in typed("dose", "medlar", *words, code=2)


def test_beer_bottles_may_be_primed(typed):
    text = typed("dose", "medlar", "sparkle", "--bar", "2bar", "--bottle", "beer")
    assert "g in all" in text
    assert "Bottles can burst" in text


def test_finings_go_by_the_litres_noted_or_given(typed):
    assert "2.4 mL of each in 4.3 L" in typed("dose", "medlar", "finings")
    assert "12.8 mL of each in 23 L" in typed("dose", "medlar", "finings", "--litres", "23")


def test_a_guide_is_that_of_the_next_step_or_of_a_topic(typed):
    assert "bubblerate bottling-day medlar" in typed("guide", "medlar")
    assert "pectin" in typed("guide", "medlar", "--on", "haze")


@pytest.mark.parametrize(
    "words",
    [
        ["dose", "medlar", "sulphite"],
        ["dose", "medlar", "stabilise"],
        ["dose", "medlar", "sweeten", "--to", "1.010"],
        ["dose", "medlar", "sparkle", "--bar", "2", "--bottle", "beer"],
        ["dose", "medlar", "finings"],
        ["dose", "quince", "sweeten", "--to", "1.010"],
        ["dose", "quince", "sparkle", "--bar", "2", "--bottle", "beer"],
        ["bottling-day", "medlar"],
    ],
)
def test_a_line_to_type_works_as_printed(typed, run, tmp_path, words):
    """On a shelf that is not the usual one."""
    shutil.copy(EXAMPLES / "quince.csv", tmp_path)
    text = typed(*words, code=None)
    line = re.search(
        rf"bubblerate (\w+ (?:medlar|quince) .*?--shelf {re.escape(str(tmp_path))})", text
    )
    assert line is not None, text
    said = run(*shlex.split(line[1]))
    assert said.code == 0, said.err


def test_sugar_waits_for_the_end_of_the_two_weeks_after_stabilising(typed, run, tmp_path):
    late = ("--when", "2026-11-10T21:55+00:00", "--shelf", str(tmp_path))
    run("event", "medlar", "stabilised", *late)
    text = typed("dose", "medlar", "sweeten", "--to", "1.010")
    assert "first Wait until 24 Nov 2026, 14 days after it was stabilised" in text
    early = ("--when", "2026-10-10T21:55+00:00", "--shelf", str(tmp_path))
    run("strike", "medlar", "last", "--shelf", str(tmp_path))
    run("event", "medlar", "stabilised", *early)
    assert "Wait until" not in typed("dose", "medlar", "sweeten", "--to", "1.010")


def test_the_line_to_write_down_holds_the_amounts_worked_out(typed):
    text = typed("dose", "medlar", "stabilise")
    low, high = map(float, re.search(r"([\d.]+) to ([\d.]+) g of potassium sorbate", text).groups())
    middle = float(re.search(r"--sorbate ([\d.]+)g", text)[1])
    assert low < middle < high
    each = re.search(r"two-part ([\d.]+) mL", typed("dose", "medlar", "finings"))[1]
    assert f"--finings {each}ml" in typed("dose", "medlar", "finings")
