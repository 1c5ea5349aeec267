"""Run the command line as ``python -m bubblerate``."""

from .cli import main

main()
