from bench.page.writers import crowd


def test_phones_and_terminals_at_once_lose_nothing_and_write_nothing_twice(tmp_path):
    found = crowd(tmp_path, 3.0)
    assert sum(found.acknowledged.values()) > 20
    assert (found.lost, found.doubled, found.refused) == (0, 0, 0)
