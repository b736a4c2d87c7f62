"""Run the command line as `python -m taxcalc`."""

from taxcalc.cli import main

if __name__ == "__main__":
    main()
