import pytest

from bubblerate.diary.event_names import done, likely, named
from bubblerate.diary.events import ADDED, BREAKS, EVENTS, NEW_SUGAR, Event
from bubblerate.errors import InputError

FORGETS = ADDED | NEW_SUGAR | {"topped-up", "starter", "stabilised"}
PROVES = {"still", "clear", "tested", "sugar-low", "malolactic-over"}


def refusal(act, text: str) -> str:
    with pytest.raises(InputError) as caught:
        act(text)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_the_events_are_those_agreed_and_each_says_what_it_means():
    assert " ".join(EVENTS) == (
        "pitched sampled fed starter diluted sweetened stirred degassed moved chilled warmed "
        "airlock bung-tight bung-leaked strained pressed racked topped-up fined fined-two-part "
        "sulphited stabilised filtered bottled bottled-sparkling opened poured-back gushed split "
        "joined put-away tested sugar-low sugar-high clear cloudy lees still prickle "
        "malolactic-over tasted not-fed"
    )
    assert len({event.meaning for event in EVENTS}) == len(EVENTS)
    assert all(event.meaning for event in EVENTS)


def test_an_event_is_its_own_word_wherever_a_word_is_wanted():
    assert Event("racked") == "racked" == str(Event.RACKED) == f"{Event.RACKED}"
    assert {"racked": 1}[Event.RACKED] == 1
    with pytest.raises(ValueError, match="drunk"):
        Event("drunk")


def test_what_is_added_to_a_jar_parts_the_wine_before_from_the_wine_after():
    assert ADDED | NEW_SUGAR < BREAKS
    assert {"diluted"} == ADDED - NEW_SUGAR  # water holds no sugar
    assert "topped-up" in BREAKS - ADDED - NEW_SUGAR  # with like wine it stays the same wine
    assert {"strained", "pressed", "starter", "bung-leaked", "split"} <= BREAKS - NEW_SUGAR
    assert not {"clear", "tasted", "bung-tight", "bottled-sparkling", "opened"} & BREAKS


def test_a_finer_word_counts_as_the_plain_one():
    assert Event.BOTTLED_SPARKLING.base is Event.BOTTLED
    assert Event.FINED_TWO_PART.base is Event.FINED
    assert all(event.base.base is event.base for event in EVENTS)


@pytest.mark.parametrize(
    ("text", "event"),
    [
        *((event, event) for event in EVENTS),
        *((event.upper().replace("-", " "), event) for event in EVENTS),
        ("Racking.", "racked"),
        ("top-up", "topped-up"),
        ("sulfite", "sulphited"),
        ("sorbate", "stabilised"),
        ("sugar", "fed"),
        ("back-sweetened", "sweetened"),
        ("fresh yeast", "starter"),
        ("strained off", "strained"),
        ("topped up with juice", "fed"),
        ("topped up with water", "diluted"),
        ("new lees", "lees"),
    ],
)
def test_what_people_call_an_event_leads_to_its_word_by_every_way_in(text, event):
    assert named(text) is Event(event)
    assert done(text) == (event, "")
    assert likely(text) is Event(event)


@pytest.mark.parametrize(
    ("text", "advice"),
    [("raked", "did you mean racked?"), ("botled", "did you mean bottled?")],
)
def test_a_slip_of_a_key_is_answered_with_what_may_have_been_meant(text, advice):
    assert refusal(named, text) == f'no event "{text}"; {advice}'


def misspelt(word: str) -> list[str]:
    """The word with each letter left out, doubled, or changed."""
    return [word[:i] + new + word[i + 1 :] for i in range(len(word)) for new in ("", "zz", "e")]


@pytest.mark.parametrize("event", sorted(FORGETS | PROVES))
def test_no_misspelling_is_answered_with_an_act_that_undoes_or_makes_a_proof(event):
    for text in misspelt(event):
        if likely(text) in EVENTS and named_or_none(text) is None:
            assert likely(text) not in FORGETS | PROVES


def named_or_none(text: str) -> Event | None:
    try:
        return named(text)
    except InputError:
        return None


def test_a_word_of_a_table_that_nearly_undoes_a_proof_is_refused_and_not_lost_in_a_note():
    said = refusal(done, "sweetend")
    assert said.startswith('no event "sweetend"; write one of pitched, sampled, ')
    assert said.endswith(", or put it under Note")
    assert refusal(done, "raked") == 'no event "raked"; write racked, or put it under Note'


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("Racking.", ("racked", "")),
        ("TOPPED UP", ("topped-up", "")),
        ("sulfited", ("sulphited", "")),
        ("racked, 4.2 L left", ("racked", "racked, 4.2 L left")),
        ("fed 100 g sugar", ("fed", "fed 100 g sugar")),
        ("not racked yet", (None, "not racked yet")),
        ("racked? no", (None, "racked? no")),
        ("racked: no", (None, "racked: no")),
        ("bottle tomorrow", (None, "bottle tomorrow")),
        ("airlock dry", (None, "airlock dry")),
        ("fine", (None, "fine")),
        ("clearing", (None, "clearing")),
        ("rested", (None, "rested")),
        ("still bubbling", (None, "still bubbling")),
        ("clear of its lees? no", (None, "clear of its lees? no")),
        ("pressed the bung", (None, "pressed the bung")),
        ("tested the gravity", (None, "tested the gravity")),
        ("opened the jar to look", (None, "opened the jar to look")),
        ("tasted, too sweet", ("tasted", "tasted, too sweet")),
        ("Bottled sparkling, 6 bottles", ("bottled-sparkling", "Bottled sparkling, 6 bottles")),
        ("fined two-part: kieselsol", ("fined-two-part", "fined two-part: kieselsol")),
        ("topped up with plum wine", ("topped-up", "topped up with plum wine")),
        ("topped up with 0.3 L of juice", ("fed", "topped up with 0.3 L of juice")),
        ("topped up, boiled water", ("diluted", "topped up, boiled water")),
    ],
)
def test_only_what_was_done_is_an_event_and_all_else_a_note(text, wanted):
    assert done(text) == wanted


@pytest.mark.parametrize("text", ["mlf", "Malolactic", "malolactic fermentation"])
def test_a_change_under_way_is_no_event_until_it_is_over(text):
    assert refusal(named, text).endswith(
        "if it is over, write malolactic-over; until then, write nothing"
    )
    assert named(f"{text} over") == Event.MALOLACTIC_OVER
