from bench.page.writers import PHONES, crowd


def test_phones_and_terminals_at_once_lose_nothing_and_write_nothing_twice(tmp_path):
    found = crowd(tmp_path, 5, terminals=2)
    assert sum(found.acknowledged.values()) == 5 * (PHONES + 2)
    assert (found.lost, found.doubled, found.halves, found.refused) == (0, 0, 0, 0)
