"""Run the command line with ``python -m woold``."""

from woold.cli.main import run

if __name__ == "__main__":
    run()
