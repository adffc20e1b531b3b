"""Run the command line with `python -m towscope`."""

from towscope.cli import main

main()
