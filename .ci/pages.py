"""Build a page for every module from the docstrings: python .ci/pages.py build/api."""

import pkgutil
import sys
from pathlib import Path

import pdoc

import bubblerate

# The public face finds its names when they are asked for; a page lists what is there already.
vars(bubblerate).update({name: getattr(bubblerate, name) for name in bubblerate.__all__})
pdoc.render.configure(docformat="numpy", math=True)
modules = (found.name for found in pkgutil.walk_packages(bubblerate.__path__, "bubblerate."))
modules = (name for name in modules if not name.endswith("__main__"))  # to load it is to run it
pdoc.pdoc("bubblerate", *modules, output_directory=Path(sys.argv[1]))
