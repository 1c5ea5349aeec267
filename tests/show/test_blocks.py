"""Sheets as text."""

from bubblerate.show.blocks import Banner, Boxes, Grid, Heading, Line, Pairs, Paper, paper_text

PAPER = Paper(
    title="plum",
    blocks=(
        Heading("First"),
        Line("One long line that has to be broken somewhere."),
        Banner("Not tonight."),
        Boxes(("torch", "a shaken sample that gives neither puff nor prickle")),
        Pairs((("wine", "plum wine, started in August and racked in September"),)),
        Grid(("jar", "left"), (("plum", "6 of 6x75 cl"), ("", "")), (1, 1)),
    ),
)


def test_each_block_has_its_own_look_and_no_line_is_too_long():
    assert paper_text(PAPER, width=30).splitlines() == [
        "plum",
        "",
        "First",
        "  One long line that has to be",
        "  broken somewhere.",
        "! Not tonight.",
        "  [ ] torch",
        "  [ ] a shaken sample that",
        "      gives neither puff nor",
        "      prickle",
        "  wine       plum wine,",
        "             started in August",
        "             and racked in",
        "             September",
        "jar   left",
        "plum  6 of 6x75 cl",
    ]


def test_what_a_screen_would_obey_is_not_printed():
    assert paper_text(Paper(title="a\x1b[31m", blocks=()), width=30) == "a?[31m"
