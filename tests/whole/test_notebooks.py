"""Every notebook is stored as if never run, and runs from clean, top to bottom."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import bubblerate

FOLDER = Path(__file__).parent.parent.parent / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
SHARED = {"cell_type", "id", "metadata", "source"}
KEYS = {"markdown": SHARED, "code": SHARED | {"execution_count", "outputs"}}

# The code cells one after another in one name space, as a kernel would; no kernel is needed.
RUN = """
import json, pathlib, sys
names = {"__name__": "__main__"}
for cell in json.loads(pathlib.Path(sys.argv[1]).read_text(encoding="utf-8"))["cells"]:
    if cell["cell_type"] == "code":
        exec(compile("".join(cell["source"]), f"cell {cell['id']}", "exec"), names)
"""

LEFT = "metadata.language_info"  # the version of Python that ran it last
every_notebook = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)


def cells(path, kind):
    book = json.loads(path.read_text(encoding="utf-8"))
    return ["".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == kind]


def run(path, seconds=180):
    root = str(Path(bubblerate.__file__).parent.parent)  # the package under test, from any folder
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", RUN, str(path)],
        cwd=FOLDER,
        env=os.environ | {"MPLBACKEND": "Agg", "PYTHONPATH": root},
        capture_output=True,
        text=True,
        timeout=seconds,
        check=False,
    )


def test_all_five_are_there():
    assert [path.stem[:2] for path in NOTEBOOKS] == ["01", "02", "03", "04", "05"]


@every_notebook
def test_a_notebook_is_well_formed(path):
    # Notebook format 4.5 of the Jupyter project: these keys and no others, and a name a cell
    book = json.loads(path.read_text(encoding="utf-8"))
    assert {*book} == {"cells", "metadata", "nbformat", "nbformat_minor"}
    assert (book["nbformat"], book["nbformat_minor"]) == (4, 5)
    for cell in book["cells"]:
        assert {*cell} == KEYS[cell["cell_type"]]
        assert re.fullmatch(r"[A-Za-z0-9_-]{1,64}", cell["id"])
        assert all(isinstance(line, str) for line in cell["source"])
    names = [cell["id"] for cell in book["cells"]]
    assert len({*names}) == len(names)


def strip(*words):
    line = [sys.executable, "-m", "nbstripout", "--keep-id", "--extra-keys", LEFT, *map(str, words)]
    return subprocess.run(line, check=False).returncode


@every_notebook
def test_a_notebook_is_stored_without_what_a_run_leaves(path):
    assert strip("--verify", path) == 0
    metadata = json.loads(path.read_text(encoding="utf-8"))["metadata"]
    assert {*metadata} == {"kernelspec"}
    assert metadata["kernelspec"]["display_name"] == "Python 3"


def test_stripping_takes_away_what_a_run_leaves_and_nothing_else(tmp_path):
    clean = NOTEBOOKS[0].read_text(encoding="utf-8")
    book = json.loads(clean)
    book["metadata"]["language_info"] = {"name": "python", "version": "3.12.0"}
    for i, cell in enumerate(c for c in book["cells"] if c["cell_type"] == "code"):
        output = {"output_type": "stream", "name": "stdout", "text": ["12 bubbles\n"]}
        cell |= {"execution_count": i, "outputs": [output], "metadata": {"collapsed": True}}
    path = tmp_path / "run.ipynb"
    path.write_text(json.dumps(book), encoding="utf-8")
    assert strip("--verify", path) == 1
    assert strip(path) == 0
    assert path.read_text(encoding="utf-8") == clean


@every_notebook
def test_a_notebook_opens_with_one_paragraph_on_what_it_shows(path):
    title, paragraph = cells(path, "markdown")[0].split("\n\n")
    assert title.startswith("# ")
    assert len(paragraph) > 200


@every_notebook
def test_a_notebook_runs_from_clean(path):
    done = run(path)
    assert done.returncode == 0, done.stderr[-2000:]
    assert not done.stderr


def test_a_fault_in_a_cell_would_be_seen(tmp_path):
    for source in ("assert 1 > 2", "import warnings; warnings.warn('old', DeprecationWarning)"):
        cell = {"cell_type": "code", "id": "a", "source": [source]}
        (tmp_path / "bad.ipynb").write_text(json.dumps({"cells": [cell]}))
        assert run(tmp_path / "bad.ipynb").returncode == 1
