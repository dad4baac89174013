"""Lets ``python -m planner`` do what ``treadgate`` does."""

from planner.commands import main

if __name__ == "__main__":
    main()
