"""``python -m rigging``."""

from rigging.cli.main import main

main()
