"""Build a page for every module from the docstrings: python .ci/pages.py build/api."""

import pkgutil
import sys
from pathlib import Path

import pdoc

import bubblerate
import bubblerate.cli

# The public face finds its names when they are asked for; a page lists what is there already.
vars(bubblerate).update({name: getattr(bubblerate, name) for name in bubblerate.__all__})
pdoc.render.configure(docformat="numpy", math=True)
# A folder named brings its modules along, unless it says which of its names are public.
tops = [found.name for found in pkgutil.iter_modules(bubblerate.__path__, "bubblerate.")]
tops = [name for name in tops if not name.endswith("__main__")]  # to load it is to run it
commands = [
    found.name for found in pkgutil.iter_modules(bubblerate.cli.__path__, "bubblerate.cli.")
]
pdoc.pdoc("bubblerate", *tops, *commands, output_directory=Path(sys.argv[1]))
