"""The seam between the rows, the fit and the answer."""

import pytest

from bubblerate.course.judgement import judge as judge_course
from bubblerate.diary.settings import Settings
from bubblerate.ferment.fit import fit_curve
from bubblerate.verdict import judgement
from bubblerate.verdict.judgement import conclude, fit_situation, situation

from cases import PITCHED, PROOF, SLOWED, judge, sampled
from scenes import diary, evening

ROWS = [PITCHED, *SLOWED, sampled(18.1, 0.996)]
AT = evening(18.5)


@pytest.fixture
def fits(monkeypatch):
    """The evidence of each fit that is made."""
    made, really = [], fit_curve

    def counted(evidence, **options):
        made.append(evidence)
        return really(evidence, **options)

    monkeypatch.setattr(judgement, "fit_curve", counted)
    return made


def test_the_course_of_a_jar_is_laid_out_from_one_fit(fits):
    seen = judge_course(diary(*ROWS), at=AT)
    assert seen.fit is not None
    assert len(fits) == 1


def test_a_situation_is_read_without_a_fit(fits):
    assert situation(diary(*ROWS), AT, Settings()).evidence is not None
    assert fits == []


def test_too_few_counts_are_not_fitted(fits):
    asked = situation(diary(PITCHED, *SLOWED[:2]), AT, Settings())
    assert fit_situation(asked) is None
    assert fits == []


@pytest.mark.parametrize("question", ["racking", "bottling"])
def test_a_fit_that_is_handed_in_gives_the_same_answer(question):
    made = diary(*sorted(PROOF, key=lambda row: row["day"]))
    asked = situation(made, evening(37.3), Settings())
    shared = fit_situation(asked)
    conclude(asked, shared, "racking")
    assert (
        conclude(asked, shared, question).verdict
        == judge(made, at=evening(37.3), question=question).verdict
    )


def test_without_a_fit_the_verdict_says_so():
    found = conclude(situation(diary(*ROWS), AT), None, "racking")
    assert found.forecast is None  # other ferments do not stand in for sums that failed
    assert "no-curve" in [reason.code for reason in found.verdict.reasons]


@pytest.mark.parametrize("threshold", [0.0, -1.0, float("nan")])
def test_a_threshold_that_is_none_is_refused(threshold):
    with pytest.raises(ValueError, match="threshold_per_min must be above 0"):
        judge(diary(*ROWS), at=AT, threshold_per_min=threshold)
