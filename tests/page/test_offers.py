import pytest

from bubblerate.diary.events import EVENTS, Event
from bubblerate.page.offers import DONE, SEEN, offer
from bubblerate.verdict.reasons import Kind


@pytest.mark.parametrize("kind", [*Kind, None])
def test_for_every_step_some_form_stands_first(kind):
    found = offer(kind)
    assert found.form in {"count", "gravity", "event"}
    assert (found.act is None) == (found.form != "event")
    assert {*found.answers, *([found.act] if found.act else [])} <= {*SEEN, *DONE}


def test_every_event_that_one_jar_can_tell_of_is_offered_once():
    assert {*EVENTS} - {*SEEN, *DONE} == {
        *(Event.SAMPLED, Event.SPLIT, Event.JOINED, Event.NOT_FED)
    }
    assert len({*SEEN, *DONE}) == len(SEEN) + len(DONE)


def test_what_begins_another_wine_stands_last():
    assert DONE[-1] is Event.PITCHED
