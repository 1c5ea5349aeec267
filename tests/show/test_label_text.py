from dataclasses import replace

from bubblerate.show.label_text import as_lines

from drawings import FULL_LABEL


def test_the_text_of_a_label():
    assert as_lines(FULL_LABEL, width=60) == [
        "2026, plum wine",
        "Strength about 12 % vol (an estimate)",
        "Batch of 4.0 L (0.88 UK gal, 1.06 US gal)",
        "Bottled 30 Nov 2026",
        "Drink from May 2027",
        "Best by Nov 2028",
        "Contains sulphite, fish",
    ]


def test_what_is_not_known_is_not_made_up():
    bare = {"style": None, "litres": None, "abv_pct": None, "bottled_on": None, "contains": ()}
    found = replace(FULL_LABEL, drink_from=None, best_by=None, **bare)
    assert as_lines(found, width=60) == ["2026", "Strength not known", "Not bottled yet"]


def test_a_bottle_that_may_burst_gets_no_day_to_drink_it():
    lines = as_lines(replace(FULL_LABEL, may_burst=True), width=80)
    assert "STOP: this bottle may burst. Do not keep it or give it away." in lines
    assert not any(line.startswith(("Drink from", "Best by")) for line in lines)


def test_a_fining_that_is_not_known_is_said_to_be_so():
    text = "\n".join(as_lines(replace(FULL_LABEL, doubtful=("unnamed finings",)), width=80))
    assert "Allergens not known: fined with unnamed finings" in text
