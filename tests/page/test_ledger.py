import os
from datetime import timedelta

import pytest

from bubblerate.errors import InputError
from bubblerate.page import ledger
from bubblerate.page.ledger import Ledger

from phones import NOW


def test_an_entry_is_known_by_its_first_moment_also_after_a_restart(tmp_path):
    known = Ledger(tmp_path / "shelf")
    assert known.first("a" * 32) is None
    known.add("a" * 32, NOW)
    assert known.first("a" * 32) == NOW
    assert Ledger(tmp_path / "shelf").first("a" * 32) == NOW


def test_a_line_cut_short_is_no_entry(tmp_path):
    Ledger(tmp_path).add("a" * 32, NOW)
    with (tmp_path / ".bubblerate.phone-entries").open("ab") as file:
        file.write(b"b" * 32 + b" 2026-10-2\xff")
    again = Ledger(tmp_path)
    assert again.first("a" * 32) == NOW
    assert again.first("b" * 32) is None


def test_an_entry_after_a_line_cut_short_stands_on_a_line_of_its_own(tmp_path, monkeypatch):
    Ledger(tmp_path).add("a" * 32, NOW)
    with (tmp_path / ".bubblerate.phone-entries").open("ab") as file:
        file.write(b"b" * 32 + b" 2026-10-20T21")
    known = Ledger(tmp_path)
    known.add("c" * 32, NOW)
    with monkeypatch.context() as full:
        full.setattr("os.write", lambda handle, data, write=os.write: write(handle, data[:20]))
        with pytest.raises(InputError, match="enter it again"):
            known.add("d" * 32, NOW)
    known.add("e" * 32, NOW)
    again = Ledger(tmp_path)
    assert [again.first(mark * 32) for mark in "abcde"] == [NOW, None, NOW, None, NOW]


def test_it_is_seen_onto_the_disk_before_it_counts(tmp_path, monkeypatch):
    def full(handle):
        raise OSError(28, "No space left on device")

    known = Ledger(tmp_path)
    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(InputError, match="No space left on device; enter it again"):
        known.add("a" * 32, NOW)
    assert known.first("a" * 32) is None


def test_old_entries_are_forgotten(tmp_path, monkeypatch):
    monkeypatch.setattr(ledger, "_KEPT", 3)
    known = Ledger(tmp_path)
    for i in range(5):
        known.add(f"mark{i}", NOW + timedelta(seconds=i))
    assert [known.first(f"mark{i}") is not None for i in range(5)] == [
        False,
        False,
        True,
        True,
        True,
    ]
    Ledger(tmp_path)
    assert (tmp_path / ".bubblerate.phone-entries").read_bytes().count(b"\n") == 3
