"""``python -m api`` is the program `newel`."""

from api.cli import main

if __name__ == "__main__":
    main()
