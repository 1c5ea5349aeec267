from bubblerate.show.after_text import _OF_ACT, _OF_PHASE
from bubblerate.verdict import cautions


def test_every_caution_has_its_place():
    placed = {text for texts in [*_OF_PHASE.values(), *_OF_ACT.values()] for text in texts}
    every = {getattr(cautions, name) for name in cautions.__all__ if name.isupper()}
    # beside the dose, and below the row that says so
    assert every - placed == {cautions.SULPHITE, cautions.GUSHED}
