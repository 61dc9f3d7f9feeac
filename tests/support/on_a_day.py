"""The day on which tests run, whatever the computer's date: some days before the example's season begins.

A space whose start is past, and which was never begun, is planned from today. So no test may depend on the
day on which it happens to be run.
"""

import sys
from datetime import date

DAY = date(2026, 12, 20)
_RUN = """\
import sys
from datetime import date
from cropcal.season import clock
day = date.fromisoformat(sys.argv.pop(1))
clock.today = lambda: day
sys.argv[0] = "cropcal"
from cropcal.cli.entry import run
run()
"""
CROPCAL = (sys.executable, "-c", _RUN, DAY.isoformat())
"""What starts the command in a process of its own, as ``cropcal`` does, on that day."""
