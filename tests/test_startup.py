import subprocess
import sys

import bubblerate

HEAVY = {"numpy", "scipy", "pandas", "matplotlib"}
TALLY = """
import sys
from bubblerate.cli import main
for words in (["start", "fig"], ["tally", "fig", "12", "--over", "90s", "--temp", "65F"]):
    try:
        main(words)
    except SystemExit as done:
        assert not done.code, done.code
"""


def loaded(code: str) -> set[str]:
    """Packages that a fresh interpreter has loaded once it has run some code."""
    code += "\nimport sys\nprint('loaded', *{name.split('.')[0] for name in sys.modules})"
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    return {*done.stdout.rpartition("loaded ")[2].split()}


def test_importing_the_package_loads_no_heavy_library():
    assert not HEAVY & loaded("import bubblerate; dir(bubblerate)")


def test_writing_a_count_down_loads_no_heavy_library(tmp_path):
    assert not HEAVY & loaded(TALLY)  # the shelf of the test, by the environment
    assert (tmp_path / "shelf" / "fig.csv").read_bytes().count(b"\r\n") == 3


def test_a_heavy_library_would_be_noticed():
    assert "numpy" in loaded("import bubblerate; bubblerate.judge")


def test_a_picture_is_drawn_without_pyplot():
    code = "import bubblerate, sys; bubblerate.save_tail"
    assert "matplotlib" in loaded(f"{code}; assert 'matplotlib.pyplot' not in sys.modules")


def test_every_public_name_can_be_had():
    assert all(getattr(bubblerate, name) is not None for name in bubblerate.__all__)
    assert {*bubblerate.__all__} <= {*dir(bubblerate)}
