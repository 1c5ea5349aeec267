import errno
import pickle
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest

from bubblerate.diary.settings import Hydrometer, Keeping, Settings, VesselSettings
from bubblerate.diary.settings_file import settings
from bubblerate.errors import ConfigError


def settings_of(folder: Path, text: str) -> Settings:
    (folder / "bubblerate.toml").write_bytes(text.encode())
    return settings(folder)


def refusal(folder: Path, text: str) -> str:
    """What is wrong: told of one vessel, or a refusal of the whole file."""
    if text.startswith(("[vessel.", "[vessel]")):
        (fault,) = (one for some in settings_of(folder, text).faults.values() for one in some)
        return fault
    with pytest.raises(ConfigError) as caught:
        settings_of(folder, text)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_without_a_file_the_usual_values_hold(tmp_path):
    assert settings(tmp_path) == Settings(
        hydrometer=Hydrometer(calibration_c=20.0, offset=0.0), threshold_per_min=1.0, vessels={}
    )
    assert settings(tmp_path / "no" / "such" / "shelf") == Settings()


def test_an_empty_file_changes_nothing(tmp_path):
    assert settings_of(tmp_path, "\ufeff# nothing yet\n") == Settings()


@pytest.mark.usefixtures("berlin")
def test_all_that_the_file_says_is_read(tmp_path):
    found = settings_of(
        tmp_path,
        """
        [hydrometer]
        calibration_c = 15.6
        offset = 0.002
        [threshold]
        per_min = 2
        [vessel.quince]
        finish = 0.996
        litres = 4.5
        pitched = 2026-10-24
        [vessel."damson 2"]
        pitched = 2026-10-25T21:30:00
        [vessel.medlar]
        pitched = 2026-10-01T12:00:00-05:00
        """,
    )
    summer, winter = (timezone(timedelta(hours=hours)) for hours in (2, 1))
    assert found.hydrometer == Hydrometer(calibration_c=15.6, offset=0.002)
    assert found.threshold_per_min == 2.0
    assert found.vessel("quince") == VesselSettings(
        finish=0.996, litres=4.5, pitched=datetime(2026, 10, 24, tzinfo=summer)
    )
    assert found.vessel("damson 2").pitched == datetime(2026, 10, 25, 21, 30, tzinfo=winter)
    assert found.vessel("medlar").pitched == datetime(2026, 10, 1, 17, tzinfo=UTC)


def test_a_vessel_of_which_nothing_is_said_has_empty_settings(tmp_path):
    found = settings_of(tmp_path, "[vessel.quince]\n")
    assert found.vessel("quince") == found.vessel("medlar") == VesselSettings()


def test_settings_can_be_sent_to_a_worker(tmp_path):
    found = settings_of(tmp_path, "[vessel.quince]\npitched = 2026-10-01\n")
    assert pickle.loads(pickle.dumps(found)) == found


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("hydrometr = 1", "hydrometr is not a known key; the nearest is hydrometer"),
        ("[vessels.quince]", "vessels is not a known key; the nearest is vessel"),
        (
            "[hydrometer]\nofset = 0.002",
            "hydrometer.ofset is not a known key; the nearest is offset",
        ),
        (
            "[threshold]\nper_minute = 1",
            "threshold.per_minute is not a known key; the nearest is per_min",
        ),
        (
            "[vessel.quince]\nliters = 4.5",
            "vessel.quince.liters is not a known key; the nearest is litres",
        ),
        ("hydrometer = 20", "hydrometer is 20; write a line [hydrometer] and its keys below"),
        (
            "[vessel]\nquince = 4.5",
            "vessel.quince is 4.5; write a line [vessel.quince] and its keys below",
        ),
        (
            "[hydrometer]\ncalibration_c = 60",
            "hydrometer.calibration_c is 60; write Celsius from 0 to 40, such as 20",
        ),
        (
            "[hydrometer]\noffset = 2",
            "hydrometer.offset is 2; write SG from -0.05 to 0.05, such as 0.002",
        ),
        (
            "[threshold]\nper_min = 0",
            "threshold.per_min is 0; write bubbles a minute from 0.001 to 1000, such as 1",
        ),
        (
            "[threshold]\nper_min = nan",
            "threshold.per_min is nan; write bubbles a minute from 0.001 to 1000, such as 1",
        ),
        ("[vessel.quince]\nfinish = 996", "vessel.quince.finish is 996; write 0.996"),
        (
            "[vessel.quince]\nfinish = 0.5",
            "vessel.quince.finish is 0.5; write a gravity from 0.980 to 1.040, such as 0.996",
        ),
        (
            '[vessel.quince]\nlitres = "4.5"',
            'vessel.quince.litres is "4.5"; write litres from 0.05 to 10000, such as 4.5',
        ),
        (
            "[vessel.quince]\nlitres = true",
            "vessel.quince.litres is True; write litres from 0.05 to 10000, such as 4.5",
        ),
        (
            "[vessel.quince]\nlitres = -1",
            "vessel.quince.litres is -1; write litres from 0.05 to 10000, such as 4.5",
        ),
        (
            '[vessel.quince]\npitched = "2026-10-01"',
            'vessel.quince.pitched is "2026-10-01"; '
            "write a date such as 2026-10-01, without quotes",
        ),
        (
            "[vessel.quince]\npitched = 21:30:00",
            "vessel.quince.pitched is 21:30:00; write a date such as 2026-10-01, without quotes",
        ),
    ],
)
def test_what_cannot_be_used_is_named_with_what_would_do(tmp_path, text, message):
    assert refusal(tmp_path, text) == f"bubblerate.toml: {message}"


def test_a_bad_key_of_one_vessel_costs_it_that_key_alone(tmp_path):
    found = settings_of(
        tmp_path,
        """
        [threshold]
        per_min = 2
        [vessel]
        fig = 4.5
        [vessel.quince]
        finish = 996
        ph = 3.4
        liters = 4.5
        [vessel.plum]
        litres = 5
        """,
    )
    assert found.vessel("quince") == VesselSettings(ph=3.4)
    assert found.vessel("plum") == VesselSettings(litres=5.0)
    assert (found.vessel("fig"), found.threshold_per_min) == (VesselSettings(), 2.0)
    assert {name: len(faults) for name, faults in found.faults.items()} == {"fig": 1, "quince": 2}


def test_broken_toml_is_named_with_its_place(tmp_path):
    message = refusal(tmp_path, "[hydrometer]\noffset 0.002\n")
    assert message.startswith("bubblerate.toml: is not valid TOML: ")
    assert "line 2" in message


def test_a_file_in_another_encoding_is_named(tmp_path):
    (tmp_path / "bubblerate.toml").write_bytes(b"# caf\xe9\n")
    with pytest.raises(ConfigError, match=r"^bubblerate\.toml: is not UTF-8 text; save it as UTF"):
        settings(tmp_path)


def test_a_file_that_cannot_be_opened_is_named(tmp_path, monkeypatch):
    def forbidden(path, *_):
        raise PermissionError(errno.EACCES, "Permission denied", path)

    monkeypatch.setattr(Path, "open", forbidden)
    with pytest.raises(ConfigError, match=r"^bubblerate\.toml: cannot be read \(Permission denied"):
        settings(tmp_path)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Hydrometer(calibration_c=-1.0), "calibration_c is -1.0"),
        (lambda: Hydrometer(offset=float("nan")), "offset is nan"),
        (lambda: VesselSettings(finish=996.0), "finish is 996.0; write 0.996"),
        (lambda: VesselSettings(litres=0.0), "litres is 0.0"),
        (lambda: VesselSettings(pitched=datetime(2026, 10, 1)), "needs a UTC offset"),
        (lambda: Settings(threshold_per_min=0.0), "per_min is 0.0"),
    ],
)
def test_settings_refuse_nonsense_when_made(make, message):
    with pytest.raises(ValueError, match=message):
        make()


# --- what follows the go -------------------------------------------------------------------------


def test_what_the_maker_has_seen_and_how_long_to_wait_is_read(tmp_path):
    found = settings_of(
        tmp_path,
        """
        [keeping]
        racking_days = 60
        [vessel.quince]
        clear_since = 2026-12-01
        degassed_on = 2026-12-20
        style = "plum wine"
        full_litres = 4.6
        ph = 3.4
        """,
    )
    assert found.keeping == Keeping(racking_days=60.0)
    assert found.vessel("quince") == VesselSettings(
        clear_since=date(2026, 12, 1),
        degassed_on=date(2026, 12, 20),
        style="plum wine",
        full_litres=4.6,
        ph=3.4,
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[keeping]\nracking_days = 10",
            "keeping.racking_days is 10; write days from 21 to 180, such as 45",
        ),
        (
            "[keeping]\nracking = 60",
            "keeping.racking is not a known key; the nearest is racking_days",
        ),
        ("[vessel.fig]\nclear_since = true", "vessel.fig.clear_since is True; write a date"),
        ('[vessel.fig]\nclear_since = "yes"', 'vessel.fig.clear_since is "yes"; write a date'),
        ("[vessel.fig]\ndegassed_on = 2026-12-01T21:00:00", "write a date such as 2026-10-01"),
        ('[vessel.fig]\nstyle = " "', "write a style in a few words"),
        ("[vessel.fig]\nstyle = 3", "vessel.fig.style is 3; write a style in a few words"),
        ("[vessel.fig]\nph = 34", "vessel.fig.ph is 34; write a pH from 2.5 to 4.5, such as 3.4"),
    ],
)
def test_what_is_said_of_the_keeping_is_checked(tmp_path, text, message):
    assert message in refusal(tmp_path, text)


def test_nonsense_is_refused_when_settings_are_made_by_hand():
    with pytest.raises(ValueError, match="style is ' '"):
        VesselSettings(style=" ")
    assert VesselSettings(style="beetroot").style == "beetroot"  # most fruit, to the sums
    with pytest.raises(ValueError, match="racking_days is 5"):
        Keeping(racking_days=5)
