"""`python -m scallopkit` is the command line."""

from .cli import main

main()
