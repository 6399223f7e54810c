"""``python -m api`` is the program `newel`."""

from api.terminal.program import main

if __name__ == "__main__":
    main()
