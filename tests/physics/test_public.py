"""The physics as others import it: every name there, nothing heavy loaded for a number."""

import subprocess
import sys

import pytest

from bubblerate import physics

from house import MODULES


def loaded_by(code):
    code += "; import sys; print(*{name.split('.')[0] for name in sys.modules})"
    line = [sys.executable, "-c", code]
    return {*subprocess.run(line, capture_output=True, text=True, check=True).stdout.split()}


@pytest.mark.parametrize("name", physics.__all__)
def test_every_public_name_is_there_and_says_what_it_is(name):
    found = getattr(physics, name)
    assert name in dir(physics)
    assert name in ("Style", "Sparkle") or found.__doc__


def test_no_public_name_is_that_of_a_module():
    # a module that is loaded would hide it
    modules = {name.rpartition(".")[2] for name in MODULES if name.startswith("physics.")}
    assert not modules & {*physics.__all__}


def test_an_unknown_name_is_refused():
    with pytest.raises(AttributeError, match="has no attribute 'ether'"):
        _ = physics.ether


@pytest.mark.parametrize(
    "code",
    [
        "import bubblerate.physics",
        "from bubblerate.physics.scales import points; points(1.05)",
        "from bubblerate import physics; physics.abv_from_sg(1.085, 0.993)",
    ],
)
def test_a_number_alone_needs_no_numpy(code):
    assert "numpy" not in loaded_by(code)
