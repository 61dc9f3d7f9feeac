"""``python -m cropcal`` is ``cropcal``."""

from cropcal.cli.entry import run

if __name__ == "__main__":
    run()
