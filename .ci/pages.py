"""Build a page for every module from the docstrings: python .ci/pages.py build/api."""

import pkgutil
import sys
from pathlib import Path

import pdoc

import bubblerate
import bubblerate.cli
from bubblerate import physics

# A public face finds its names when they are asked for; a page lists what is there already.
for face in (bubblerate, physics):
    vars(face).update({name: getattr(face, name) for name in face.__all__})
pdoc.render.configure(docformat="numpy", math=True, show_source=False)
# A folder named brings its modules along, unless it says which of its names are public.
tops = [found.name for found in pkgutil.iter_modules(bubblerate.__path__, "bubblerate.")]
tops = [name for name in tops if not name.endswith("__main__")]  # to load it is to run it
inside = [
    found.name
    for folder in (bubblerate.cli, physics)
    for found in pkgutil.iter_modules(folder.__path__, f"{folder.__name__}.")
]
pdoc.pdoc("bubblerate", *tops, *inside, output_directory=Path(sys.argv[1]))
