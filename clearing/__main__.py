"""Run the command line as ``python -m clearing``."""

from clearing.cli import main

if __name__ == "__main__":
    main()
