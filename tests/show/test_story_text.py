from dataclasses import replace

from bubblerate.course.label import label_of
from bubblerate.course.standing import standing
from bubblerate.diary.outcomes import Opened
from bubblerate.diary.reading import read
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.diary.settings_file import settings
from bubblerate.show.story_text import CARD_WIDTH, card_text

from scenes import EXAMPLES, diary, evening

STORY = [
    {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5, "note": "figs from the wall"},
    {"day": 1, "bubbles": 12, "seconds": 60.0},
    {"day": 2, "bubbles": 30, "seconds": 60.0, "note": "froth  to\nthe neck"},
    {"day": 20, "bubbles": 1, "seconds": 300.0},
    {"day": 21, "event": "sampled", "sg": 0.996},
    {"day": 22, "sg": 0.5 + 0.6, "struck": "2026-10-24"},
    {"day": 30, "event": "racked", "litres": 4.3},
    {"day": 95, "event": "bottled"},
]


def card(*rows, known=None):
    known = known if known is not None else VesselSettings()
    jar = Opened(diary(*rows), Settings(vessels={"fig": known}), ())
    safe = replace(labelled(jar), may_burst=False)  # these short stories prove nothing
    return card_text(standing(jar.diary, known=known), safe)


def labelled(jar):
    return label_of(jar, at=evening(999), of=lambda _: None)


def test_a_card_tells_the_whole_story():
    rule = "-" * CARD_WIDTH
    assert card(*STORY, known=VesselSettings(style="dry wine")).splitlines() == [
        rule,
        "fig",
        "2026, dry wine",
        "Strength about 12 % vol (an estimate)",
        "Batch of 4.3 L (0.95 UK gal, 1.14 US gal)",
        "Bottled 4 Jan 2027",
        "Drink from Jul 2027",
        "Best by Jan 2030",
        rule,
        "2026",
        "1 Oct   pitched, gravity 1.085, 4.5 L, figs from the",
        "        wall",
        "3 Oct   froth to the neck",
        "22 Oct  gravity 0.996",
        "31 Oct  racked, 4.3 L",
        "2027",
        "4 Jan   bottled",
        rule,
        "3 bubble counts. Fastest 30 a minute on 3 Oct 2026; last",
        "0.20 a minute on 21 Oct 2026.",
        rule,
    ]


def test_a_card_of_an_empty_diary_is_a_card():
    assert card().splitlines()[1] == "fig"


def test_every_example_fits_its_card_with_all_that_was_done():
    for path in EXAMPLES.glob("*.csv"):
        found, known = read(path), settings(EXAMPLES)
        stands = standing(found, known=known.vessel(found.vessel))
        text = card_text(stands, labelled(Opened(found, known, ())))
        assert max(map(len, text.splitlines())) <= CARD_WIDTH
        flat = " ".join(text.split())
        for visit in stands.rows:
            assert visit.sg is None or f"gravity {visit.sg:.3f}" in flat
            assert visit.event in (None, "sampled") or visit.event in flat
