from bubblerate.diary.kin import kin

from scenes import written


def test_another_jar_of_the_shelf_is_found_and_none_is_no_error(tmp_path):
    written(tmp_path / "spare.csv", {"day": 0, "event": "pitched"})
    (tmp_path / "odd.csv").write_text("no diary at all\n")
    of = kin(tmp_path)
    assert of("spare").diary.vessel == "spare"
    assert of("plum") is None
    assert of("odd") is None
