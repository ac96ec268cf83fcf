"""`python -m moldgen`."""

from moldgen.cli import main

main()
