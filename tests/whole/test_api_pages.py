"""The pages made from the docstrings: no warning on the way, no public name missing."""

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import bubblerate

from house import MODULES

pytest.importorskip("pdoc", reason="pages are made by the extra docs")
BUILD = Path(__file__).parent.parent.parent / ".ci" / "pages.py"
PAGES = [name for name in MODULES if name != "__main__"]


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("api")
    line = [sys.executable, "-W", "error", str(BUILD), str(folder)]
    done = subprocess.run(line, capture_output=True, text=True, timeout=600)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    return folder


def page(folder, name):
    path = Path(*["bubblerate", *filter(None, name.split("."))]).with_suffix(".html")
    return (folder / path).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", PAGES)
def test_every_module_has_a_page_with_each_of_its_public_names(pages, name):
    module = bubblerate if name == "" else import_module(f"bubblerate.{name}")
    shown = page(pages, name)
    missing = [n for n in getattr(module, "__all__", ()) if f'id="{n}"' not in shown]
    assert not missing
    assert len(shown) > 1000


def test_formulas_are_set_and_sections_made_out(pages):
    text = page(pages, "ferment.decay")
    assert r"$$\frac{dS}{dt} = -B\, e^{-d t}" in text
    assert ">Parameters</h6>" in text  # a section, not a paragraph
